//! A message of a conversation, whatever carried it.

use crate::frame::Timestamp;
use crate::pairing::Role;
use crate::transport::{CanChannel, Mendings};

/// Who sent a message, and to whom as far as the transport says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sender {
    /// A channel on a CAN bus.
    Can(CanChannel),
    /// A logical address on diagnostics on IP.
    Ip {
        /// Who sent it.
        source: u16,
        /// Who is meant.
        target: u16,
    },
}

/// A whole message of diagnostics.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// Who sent it.
    pub sender: Sender,
    /// Whether it asks or answers.
    pub role: Role,
    /// The number of its first frame among the log's CAN frames, or of the message among those on IP; from 1.
    pub number: u64,
    /// When its first frame was logged; on IP, its last byte.
    pub first: Option<Timestamp>,
    /// When its last frame was logged.
    pub last: Option<Timestamp>,
    /// How many frames carried it, without flow control; 1 on IP.
    pub frames: u32,
    /// Its bytes, beginning with the service. Seeds and keys are blanked.
    pub payload: Vec<u8>,
    /// Whether seeds or keys were blanked in it.
    pub blanked: bool,
    /// What in the log was put right for it.
    pub mended: Mendings,
}
