//! What a module answers.

use super::{CodesReport, Refusal};

/// A response of ISO 14229-1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Response<'a> {
    /// 7F: no, or not yet.
    Refused {
        /// The service that was asked for.
        service: u8,
        /// Why.
        why: Refusal,
    },
    /// 50: the session is active.
    Session {
        /// Which.
        session: u8,
        /// Times that the module promises, as they are.
        times: &'a [u8],
    },
    /// 51: the module restarts.
    Reset {
        /// How.
        kind: u8,
    },
    /// 54: trouble codes are cleared.
    CodesCleared,
    /// 59: trouble codes.
    Codes(CodesReport<'a>),
    /// 62: one or more records, each its identifier and its bytes, which only
    /// [`split_records`](super::split_records) can tell apart where there are several.
    Read {
        /// Everything after the service.
        data: &'a [u8],
    },
    /// 67: a seed was given (odd level) or the module is unlocked (even level). The seed is never kept.
    SecurityAccess {
        /// Which.
        level: u8,
    },
    /// 68: ordinary communication is controlled.
    Communication {
        /// How.
        control: u8,
    },
    /// 6E: the record is written.
    Written {
        /// Its identifier.
        record: u16,
    },
    /// 6F: the output is under control.
    Control {
        /// The record that stands for it.
        record: u16,
        /// Option and state.
        data: &'a [u8],
    },
    /// 71: a routine's answer.
    Routine {
        /// What was to be done.
        action: u8,
        /// Which routine.
        routine: u16,
        /// What it answers.
        data: &'a [u8],
    },
    /// 74, 75: a transfer may begin.
    TransferBegun {
        /// From the module.
        up: bool,
    },
    /// 76: a block is there.
    Transferred {
        /// The count of the block.
        block: u8,
        /// How many bytes came with it.
        length: usize,
    },
    /// 77: the transfer is ended.
    TransferEnded,
    /// 7E: the module is there.
    Present,
    /// C5: the recording of trouble codes is switched.
    CodeRecording {
        /// 01 on, 02 off.
        setting: u8,
    },
    /// 44 of ISO 15031-5 (SAE J1979): emission-related codes are cleared.
    EmissionCodesCleared,
    /// 49 of ISO 15031-5 (SAE J1979): what the vehicle says of itself.
    VehicleInformation {
        /// What kind: 02 the VIN.
        kind: u8,
        /// What follows: on CAN the number of items first.
        data: &'a [u8],
    },
    /// 61 of ISO 14230-3: a record with an identifier of one byte.
    ReadLocal {
        /// Its identifier.
        record: u8,
        /// What it holds.
        data: &'a [u8],
    },
    /// 7B of ISO 14230-3: such a record is written.
    WrittenLocal {
        /// Its identifier.
        record: u8,
    },
    /// 7D: memory is written.
    MemoryWritten,
    /// Any other service, or one whose bytes do not fit it.
    Other {
        /// All bytes, beginning with the service.
        bytes: &'a [u8],
    },
}

impl<'a> Response<'a> {
    /// Reads a response. Everything is read: what does not fit becomes [`Response::Other`].
    pub fn read(bytes: &'a [u8]) -> Self {
        Self::fitting(bytes).unwrap_or(Self::Other { bytes })
    }

    fn fitting(bytes: &'a [u8]) -> Option<Self> {
        let (service, rest) = bytes.split_first()?;
        let word = |bytes: &'a [u8]| bytes.split_first_chunk::<2>().map(|(w, rest)| (u16::from_be_bytes(*w), rest));
        Some(match (service, rest) {
            (0x7F, [service, code]) => Self::Refused { service: *service, why: Refusal(*code) },
            (0x50, [session, times @ ..]) => Self::Session { session: *session, times },
            (0x51, [kind, ..]) => Self::Reset { kind: *kind },
            (0x44, []) => Self::EmissionCodesCleared,
            (0x49, [kind, data @ ..]) => Self::VehicleInformation { kind: *kind, data },
            (0x61, [record, data @ ..]) if !data.is_empty() => Self::ReadLocal { record: *record, data },
            (0x7B, [record, ..]) => Self::WrittenLocal { record: *record },
            (0x7D, _) => Self::MemoryWritten,
            // ISO 14230-3 repeats the group.
            (0x54, [] | [_, _]) => Self::CodesCleared,
            (0x59, rest) => Self::Codes(CodesReport::read(rest)?),
            (0x62, data) if data.len() >= 3 => Self::Read { data },
            (0x67, [level, ..]) => Self::SecurityAccess { level: *level },
            (0x68, [control]) => Self::Communication { control: *control },
            (0x6E, [a, b]) => Self::Written { record: u16::from_be_bytes([*a, *b]) },
            (0x6F, rest) => {
                let (record, data) = word(rest)?;
                Self::Control { record, data }
            }
            (0x71, [action, rest @ ..]) => {
                let (routine, data) = word(rest)?;
                Self::Routine { action: *action, routine, data }
            }
            (0x74 | 0x75, _) => Self::TransferBegun { up: *service == 0x75 },
            (0x76, [block, data @ ..]) => Self::Transferred { block: *block, length: data.len() },
            (0x77, _) => Self::TransferEnded,
            (0x7E, [0]) => Self::Present,
            (0xC5, [setting]) => Self::CodeRecording { setting: *setting },
            _ => return None,
        })
    }
}
