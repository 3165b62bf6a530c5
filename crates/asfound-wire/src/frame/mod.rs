//! One frame of a CAN bus as a log has it.

mod can_frame;
mod can_id;
mod interfaces;
mod timestamp;

pub use can_frame::{CanFrame, Direction, FrameKind};
pub use can_id::{CanId, CanIdError};
pub use interfaces::{Interface, Interfaces};
pub use timestamp::Timestamp;
