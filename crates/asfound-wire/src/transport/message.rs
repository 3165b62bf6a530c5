//! What the transport gave: a message, or what is left of one.

use thiserror::Error;

use super::{CanChannel, Mendings, PciError};
use crate::frame::Timestamp;

/// A whole message of one channel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reassembled {
    /// Who sent it.
    pub channel: CanChannel,
    /// The number of its first frame in the log, from 1.
    pub first_frame: u64,
    /// When its first frame was logged.
    pub first: Option<Timestamp>,
    /// When its last frame was logged.
    pub last: Option<Timestamp>,
    /// How many frames carried it, without flow control.
    pub frames: u32,
    /// The message. Seeds and keys are blanked.
    pub payload: Vec<u8>,
    /// Whether seeds or keys were blanked in it.
    pub blanked: bool,
    /// What in the log was put right for it.
    pub mended: Mendings,
}

/// A message that did not get through, or a frame that belongs to none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FailedMessage {
    /// Who sent it.
    pub channel: CanChannel,
    /// The number of its first frame in the log, from 1.
    pub first_frame: u64,
    /// When its first frame was logged.
    pub first: Option<Timestamp>,
    /// When it broke off.
    pub last: Option<Timestamp>,
    /// The bytes that came, as far as nothing is missing. Seeds and keys are blanked.
    pub partial: Vec<u8>,
    /// Those behind the frame that is missing, where one alone is.
    pub after: Vec<u8>,
    /// How many bytes the message should have; nothing where its beginning is not in the log.
    pub length: Option<u32>,
    /// What in the log was put right for it.
    pub mended: Mendings,
    /// Why.
    pub why: FailureReason,
}

/// Why a message did not get through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Error)]
pub enum FailureReason {
    /// The number of a consecutive frame is not the next: one is missing, or came twice. A receiver gives the
    /// message up (`N_WRONG_SN`).
    #[error("frame {expected:X} of the count was due, {got:X} came")]
    WrongNumber {
        /// The number that was due, 0 to 15.
        expected: u8,
        /// The number that came.
        got: u8,
    },
    /// A frame that is not the last has fewer bytes than the first.
    #[error("a frame in the middle has fewer bytes than the first")]
    ShortFrame,
    /// Another message began before this one was complete.
    #[error("another message began after {have} of {of} bytes")]
    Interrupted {
        /// Bytes that came.
        have: u32,
        /// Bytes that were announced.
        of: u32,
    },
    /// The log ended first.
    #[error("the log ends after {have} of {of} bytes")]
    Unfinished {
        /// Bytes that came.
        have: u32,
        /// Bytes that were announced.
        of: u32,
    },
    /// The receiver had no room for it.
    #[error("the receiver has no room for the message")]
    Overflow,
    /// Longer than what is put together here.
    #[error("the message of {0} bytes is longer than what is put together")]
    TooLong(u32),
    /// Consecutive frames whose message began before the log, or was given up.
    #[error("the beginning of the message is not in the log")]
    NoBeginning,
    /// A frame that is none of the transport.
    #[error(transparent)]
    Frame(#[from] PciError),
}

/// What the transport gave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TransportEvent {
    /// A whole message.
    Whole(Reassembled),
    /// A message that did not get through.
    Broken(FailedMessage),
}

impl TransportEvent {
    /// Who sent it.
    pub const fn channel(&self) -> CanChannel {
        match self {
            Self::Whole(whole) => whole.channel,
            Self::Broken(broken) => broken.channel,
        }
    }

    /// The number of its first frame in the log.
    pub const fn first_frame(&self) -> u64 {
        match self {
            Self::Whole(whole) => whole.first_frame,
            Self::Broken(broken) => broken.first_frame,
        }
    }
}
