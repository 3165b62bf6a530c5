//! Diagnostics on IP (ISO 13400-2:2019).
//!
//! Framing and reading of messages are those of [`asfound_wire::ip`]; what leaves is an [`IpRequest`]. Codes and payload types are from
//! memory of the standard, and held against doipclient 1.2.2 in the tests of the simulated vehicle.

mod discovery;
mod request;
mod session;
mod tcp;

pub use crate::ip_codes::{activation_text, gateway_text, header_text};
pub use discovery::{Announced, announced, identify};
pub use request::IpRequest;
pub use session::{IpEvent, IpSession};
pub use tcp::{IpLink, IpOptions};
