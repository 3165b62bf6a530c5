//! Diagnostics on IP (ISO 13400-2): out of packets, over connections put together again, to messages.

mod connections;
mod framing;
mod message;
mod packets;
mod stream;
mod written_capture;

pub use connections::PORT;
pub use framing::{Framing, FramingStep, framed};
pub use message::{IpKind, IpMessage};
pub(crate) use packets::{IpLink, IpLog};
pub use written_capture::WrittenCapture;
