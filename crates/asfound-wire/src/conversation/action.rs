//! What else was done, besides reading and writing records.

use crate::frame::Timestamp;
use crate::service::{Refusal, Request, Response};

/// What was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ActionKind {
    /// Go into a session.
    Session(u8),
    /// Restart.
    Reset(u8),
    /// Clear the trouble codes of a group (FFFFFF is all); `None` where the request is not in the log.
    ClearCodes(Option<u32>),
    /// Clear emission-related trouble codes (04 of ISO 15031-5).
    ClearEmissionCodes,
    /// Clear the trouble codes of a group of ISO 14230-3 (FF00 is all).
    ClearCodeGroup(u16),
    /// A record with an identifier of one byte written.
    WriteLocal(u8),
    /// Memory written; where, if the request tells it.
    WriteMemory(Option<u64>),
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
            Request::ClearEmissionCodes => Self::ClearEmissionCodes,
            Request::ClearCodeGroup { group } => Self::ClearCodeGroup(group),
            Request::WriteLocal { record, .. } => Self::WriteLocal(record),
            Request::WriteMemory { address, .. } => Self::WriteMemory(address),
            Request::SecurityAccess { level } => Self::SecurityAccess(level),
            Request::Communication { control, .. } => Self::Communication(control),
            Request::Control { record, .. } => Self::Control(record),
            Request::Routine { action, routine, .. } => Self::Routine(action, routine),
            Request::BeginTransfer { up, .. } => Self::BeginTransfer(up),
            Request::EndTransfer => Self::EndTransfer,
            Request::CodeRecording { setting, .. } => Self::CodeRecording(setting),
            Request::Other { bytes } => Self::Other(*bytes.first()?),
            Request::Read { .. }
            | Request::ReadLocal { .. }
            | Request::Write { .. }
            | Request::ReadCodes { .. }
            | Request::Transfer { .. }
            | Request::Present { .. } => return None,
        })
    }

    /// What a response says was done, where the request is not in the log.
    pub(super) fn of_response(response: &Response<'_>) -> Option<Self> {
        Some(match *response {
            Response::Session { session, .. } => Self::Session(session),
            Response::Reset { kind } => Self::Reset(kind),
            Response::CodesCleared => Self::ClearCodes(None),
            Response::VehicleInformation { .. } => Self::Other(0x09),
            Response::EmissionCodesCleared => Self::ClearEmissionCodes,
            Response::WrittenLocal { record } => Self::WriteLocal(record),
            Response::MemoryWritten => Self::WriteMemory(None),
            Response::SecurityAccess { level } => Self::SecurityAccess(level),
            Response::Communication { control } => Self::Communication(control),
            Response::Control { record, .. } => Self::Control(record),
            Response::Routine { action, routine, .. } => Self::Routine(action, routine),
            Response::TransferBegun { up } => Self::BeginTransfer(up),
            Response::TransferEnded => Self::EndTransfer,
            Response::CodeRecording { setting } => Self::CodeRecording(setting),
            Response::Refused { service, .. } => Self::Other(service),
            Response::Other { bytes } => Self::Other(bytes.first()? & !0x40),
            Response::Codes(_)
            | Response::Read { .. }
            | Response::ReadLocal { .. }
            | Response::Written { .. }
            | Response::Transferred { .. }
            | Response::Present => return None,
        })
    }
}
