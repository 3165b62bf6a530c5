//! What a tester asks.

/// A request of ISO 14229-1. Numbers of sub-functions are without the bit that asks for no positive response;
/// `quiet` tells that it was set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Request<'a> {
    /// 10: go into a session.
    Session {
        /// 01 default, 02 programming, 03 extended, others by maker.
        session: u8,
        /// No positive response is wanted.
        quiet: bool,
    },
    /// 11: restart.
    Reset {
        /// 01 hard, 02 key off and on, 03 soft.
        kind: u8,
        /// No positive response is wanted.
        quiet: bool,
    },
    /// 14: clear trouble codes of a group.
    ClearCodes {
        /// Three bytes; FFFFFF is all.
        group: u32,
        /// A memory other than the usual one.
        memory: Option<u8>,
    },
    /// 04 of ISO 15031-5 (SAE J1979): clear emission-related codes and what was recorded with them.
    ClearEmissionCodes,
    /// 14 as ISO 14230-3 has it: clear trouble codes of a group.
    ClearCodeGroup {
        /// Two bytes; FF00 is all.
        group: u16,
    },
    /// 19: read trouble codes. What follows the sub-function is kept as it is.
    ReadCodes {
        /// 02 by status mask, 04 snapshot, 06 extended data, 0A all supported, and others.
        report: u8,
        /// What follows.
        data: &'a [u8],
    },
    /// 22: read records.
    Read {
        /// Their identifiers, in the order asked.
        records: Vec<u16>,
    },
    /// 21 of ISO 14230-3: read a record with an identifier of one byte.
    ReadLocal {
        /// Its identifier.
        record: u8,
    },
    /// 3B of ISO 14230-3: write a record with an identifier of one byte.
    WriteLocal {
        /// Its identifier.
        record: u8,
        /// The bytes to write.
        data: &'a [u8],
    },
    /// 3D: write memory.
    WriteMemory {
        /// Where; `None` where the bytes do not tell it.
        address: Option<u64>,
        /// The bytes to write; everything behind the service where the bytes do not tell the address.
        data: &'a [u8],
    },
    /// 27: security access. Seed and key are never kept.
    SecurityAccess {
        /// Odd numbers ask for a seed, the even number after it sends the key.
        level: u8,
    },
    /// 28: control of ordinary communication.
    Communication {
        /// 00 on, others off in part or whole.
        control: u8,
        /// What follows.
        data: &'a [u8],
        /// No positive response is wanted.
        quiet: bool,
    },
    /// 2E: write a record.
    Write {
        /// Its identifier.
        record: u16,
        /// The bytes to write.
        data: &'a [u8],
    },
    /// 2F: take an output under control.
    Control {
        /// The record that stands for it.
        record: u16,
        /// Option and state.
        data: &'a [u8],
    },
    /// 31: start (01), stop (02) or ask (03) a routine.
    Routine {
        /// What to do.
        action: u8,
        /// Which routine.
        routine: u16,
        /// What it is given.
        data: &'a [u8],
        /// No positive response is wanted.
        quiet: bool,
    },
    /// 34, 35: begin a transfer to (`up` false) or from the module.
    BeginTransfer {
        /// From the module.
        up: bool,
        /// Format, address and length, as they are.
        data: &'a [u8],
    },
    /// 36: one block.
    Transfer {
        /// The count of the block.
        block: u8,
        /// How many bytes it has.
        length: usize,
    },
    /// 37: end a transfer.
    EndTransfer,
    /// 3E: tester present.
    Present {
        /// No positive response is wanted.
        quiet: bool,
    },
    /// 85: switch the recording of trouble codes on (01) or off (02).
    CodeRecording {
        /// Which.
        setting: u8,
        /// No positive response is wanted.
        quiet: bool,
    },
    /// Any other service, or one whose bytes do not fit it.
    Other {
        /// All bytes, beginning with the service.
        bytes: &'a [u8],
    },
}

fn word(bytes: &[u8]) -> Option<(u16, &[u8])> {
    let (head, rest) = bytes.split_first_chunk::<2>()?;
    Some((u16::from_be_bytes(*head), rest))
}

/// A sub-function without its highest bit, and whether that was set.
fn sub(byte: u8) -> (u8, bool) {
    (byte & 0x7F, byte & 0x80 != 0)
}

/// What a request to write memory says. ISO 14229-1 has the lengths of address and size in front; ISO 14230-3 has three bytes
/// of address and one of size. Only what comes out even in exactly one way is taken.
fn write_memory(bytes: &[u8]) -> Request<'_> {
    let with_lengths = bytes.split_first().and_then(|(lengths, rest)| {
        let (address, size) = (usize::from(lengths & 0x0F), usize::from(lengths >> 4));
        in_memory(rest, address, size)
    });
    match (with_lengths, in_memory(bytes, 3, 1)) {
        (Some((address, data)), None) | (None, Some((address, data))) => {
            Request::WriteMemory { address: Some(address), data }
        }
        _ => Request::WriteMemory { address: None, data: bytes },
    }
}

/// Address, size and bytes, where as many bytes follow as the size says.
fn in_memory(bytes: &[u8], address: usize, size: usize) -> Option<(u64, &[u8])> {
    if !(1..=8).contains(&address) || !(1..=4).contains(&size) {
        return None;
    }
    let number = |bytes: &[u8]| bytes.iter().fold(0_u64, |number, byte| number << 8 | u64::from(*byte));
    let (address, rest) = bytes.split_at_checked(address)?;
    let (size, data) = rest.split_at_checked(size)?;
    (number(size) == data.len() as u64 && !data.is_empty()).then(|| (number(address), data))
}

impl<'a> Request<'a> {
    /// Reads a request. Everything is read: what does not fit becomes [`Request::Other`].
    pub fn read(bytes: &'a [u8]) -> Self {
        Self::fitting(bytes).unwrap_or(Self::Other { bytes })
    }

    fn fitting(bytes: &'a [u8]) -> Option<Self> {
        let (service, rest) = bytes.split_first()?;
        Some(match (service, rest) {
            (0x10, [session]) => {
                let (session, quiet) = sub(*session);
                Self::Session { session, quiet }
            }
            (0x11, [kind]) => {
                let (kind, quiet) = sub(*kind);
                Self::Reset { kind, quiet }
            }
            (0x14, [a, b, c, memory @ ..]) if memory.len() <= 1 => {
                Self::ClearCodes { group: u32::from_be_bytes([0, *a, *b, *c]), memory: memory.first().copied() }
            }
            (0x14, [a, b]) => Self::ClearCodeGroup { group: u16::from_be_bytes([*a, *b]) },
            (0x04, []) => Self::ClearEmissionCodes,
            (0x21, [record]) => Self::ReadLocal { record: *record },
            (0x3B, [record, data @ ..]) if !data.is_empty() => Self::WriteLocal { record: *record, data },
            (0x3D, data) if !data.is_empty() => write_memory(data),
            (0x19, [report, data @ ..]) => Self::ReadCodes { report: sub(*report).0, data },
            (0x22, records) if !records.is_empty() && records.len().is_multiple_of(2) => Self::Read {
                records: records.as_chunks::<2>().0.iter().map(|record| u16::from_be_bytes(*record)).collect(),
            },
            (0x27, [level, ..]) => Self::SecurityAccess { level: sub(*level).0 },
            (0x28, [control, data @ ..]) if !data.is_empty() => {
                let (control, quiet) = sub(*control);
                Self::Communication { control, data, quiet }
            }
            (0x2E, rest) => {
                let (record, data) = word(rest)?;
                if data.is_empty() {
                    return None;
                }
                Self::Write { record, data }
            }
            (0x2F, rest) => {
                let (record, data) = word(rest)?;
                Self::Control { record, data }
            }
            (0x31, [action, rest @ ..]) => {
                let (action, quiet) = sub(*action);
                let (routine, data) = word(rest)?;
                Self::Routine { action, routine, data, quiet }
            }
            (0x34 | 0x35, data) => Self::BeginTransfer { up: *service == 0x35, data },
            (0x36, [block, data @ ..]) => Self::Transfer { block: *block, length: data.len() },
            (0x37, _) => Self::EndTransfer,
            (0x3E, [sub_function]) if matches!(sub_function, 0 | 0x80) => Self::Present { quiet: sub(*sub_function).1 },
            (0x85, [setting, ..]) => {
                let (setting, quiet) = sub(*setting);
                Self::CodeRecording { setting, quiet }
            }
            _ => return None,
        })
    }

    /// Whether it asks for no positive response.
    pub fn is_quiet(bytes: &[u8]) -> bool {
        match bytes {
            [service, sub_function, ..] => crate::pairing::has_sub_function(*service) && sub_function & 0x80 != 0,
            _ => false,
        }
    }
}
