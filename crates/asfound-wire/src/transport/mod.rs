//! ISO 15765-2: frames to messages.
//!
//! Numbers of sections and rules are from memory of ISO 15765-2:2016, agreed by can-isotp 2.0.7, whose recorded
//! conversations the tests hold this module against.

mod assembler;
mod channel;
mod channel_hash;
mod failure;
mod mending;
mod message;
mod partial_message;
mod pci;
mod receiver;
mod segmenter;
mod sender;

pub use assembler::{Assembler, MOST_BYTES};
pub use channel::{Addressing, CanChannel};
pub(crate) use channel_hash::BuildChannelHasher;
pub use failure::TransportFailure;
pub use mending::{Mending, Mendings};
pub use message::{FailedMessage, FailureReason, Reassembled, TransportEvent};
pub(crate) use pci::is_filler;
pub use pci::{FlowStatus, Pci, PciError};
pub use receiver::{MessageReceiver, ReceiverStep, Reception};
pub use segmenter::{Segmentation, segments};
pub use sender::{MessageSender, SenderStep, SenderTiming, separation};
