//! Modules on a CAN bus (ISO 15765-2), over whatever carries frames.
//!
//! Frames, addressing and the receiver of messages are those of [`asfound_wire`].

mod can_link;
mod module;
mod serial;
mod serial_line;

pub use can_link::{CanBus, CanLink};
pub use module::{CanModule, UnknownRequestId};
pub use serial::{SerialBus, SerialOptions};
pub use serial_line::{BitRate, SerialLine, SerialLineEvent};
