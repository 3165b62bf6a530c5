//! What else was done, besides reading and writing records.

use crate::frame::Timestamp;
use crate::service::{Refusal, Request};

/// What was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ActionKind {
    /// Go into a session.
    Session(u8),
    /// Restart.
    Reset(u8),
    /// Clear the trouble codes of a group (FFFFFF is all); `None` where the request is not in the log.
    ClearCodes(Option<u32>),
    /// Security access of a level; nothing of seed and key is known here.
    SecurityAccess(u8),
    /// Control of ordinary communication.
    Communication(u8),
    /// An output taken under control.
    Control(u16),
    /// A routine: action and number.
    Routine(u8, u16),
    /// Begin a transfer to the module (`false`) or from it.
    BeginTransfer(bool),
    /// End a transfer.
    EndTransfer,
    /// Recording of trouble codes.
    CodeRecording(u8),
    /// Another service, by its number.
    Other(u8),
}

/// One thing that was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Action {
    /// When it was asked for, or answered where the request is not in the log.
    pub at: Option<Timestamp>,
    /// Where in the log.
    pub number: u64,
    /// What.
    pub kind: ActionKind,
    /// `Some(true)` for a positive response, `Some(false)` for a negative one, `None` without any.
    pub accepted: Option<bool>,
    /// Why the module refused.
    pub refusal: Option<Refusal>,
}

impl ActionKind {
    /// What a request asks for; `None` for reading, writing, and what only carries on.
    pub(super) fn of(request: &Request<'_>) -> Option<Self> {
        Some(match *request {
            Request::Session { session, .. } => Self::Session(session),
            Request::Reset { kind, .. } => Self::Reset(kind),
            Request::ClearCodes { group, .. } => Self::ClearCodes(Some(group)),
            Request::SecurityAccess { level } => Self::SecurityAccess(level),
            Request::Communication { control, .. } => Self::Communication(control),
            Request::Control { record, .. } => Self::Control(record),
            Request::Routine { action, routine, .. } => Self::Routine(action, routine),
            Request::BeginTransfer { up, .. } => Self::BeginTransfer(up),
            Request::EndTransfer => Self::EndTransfer,
            Request::CodeRecording { setting, .. } => Self::CodeRecording(setting),
            Request::Other { bytes } => Self::Other(*bytes.first()?),
            Request::Read { .. }
            | Request::Write { .. }
            | Request::ReadCodes { .. }
            | Request::Transfer { .. }
            | Request::Present { .. } => return None,
        })
    }
}
