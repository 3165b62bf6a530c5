//! Diagnostics on IP (ISO 13400-2): out of packets, over connections put together again, to messages.

mod connections;
mod framing;
mod message;
mod packets;
mod stream;

pub use framing::{Framing, FramingStep};
pub use message::{IpKind, IpMessage};
pub(crate) use packets::{IpLink, IpLog};
