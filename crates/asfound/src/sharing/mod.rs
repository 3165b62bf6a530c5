//! Sharing journals with another place by the git program.

mod address;
mod program;

pub use address::Address;
pub use program::{GitProgram, ToSend};
