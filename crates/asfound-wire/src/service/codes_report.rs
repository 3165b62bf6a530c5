//! Reports of trouble codes (19 / 59).

/// A trouble code of three bytes with its status.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CodeStatus {
    /// The code as it travels: two bytes of code and one of failure type, or as the format identifier says.
    pub code: [u8; 3],
    /// The status bits of ISO 14229-1.
    pub status: u8,
}

/// What a module reports.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CodesReport<'a> {
    /// 02, 0A: a list of codes, by status mask or all that the module knows.
    List {
        /// 02 or 0A.
        report: u8,
        /// The status bits that the module supports.
        available: u8,
        /// The codes.
        codes: Vec<CodeStatus>,
    },
    /// 04, 06: what was recorded with one code; the records behind it are kept as they are.
    Recorded {
        /// 04 snapshot, 06 extended data.
        report: u8,
        /// The code.
        code: CodeStatus,
        /// What follows.
        data: &'a [u8],
    },
    /// Any other report, or a list that does not come out even.
    Other {
        /// The sub-function.
        report: u8,
        /// What follows.
        data: &'a [u8],
    },
}

impl<'a> CodesReport<'a> {
    /// Reads what follows `59`; `None` where there is nothing.
    pub(super) fn read(bytes: &'a [u8]) -> Option<Self> {
        let (report, data) = bytes.split_first()?;
        let report = *report;
        let code = |four: &[u8; 4]| CodeStatus { code: [four[0], four[1], four[2]], status: four[3] };
        Some(match (report, data) {
            (0x02 | 0x0A, [available, list @ ..]) if list.len() % 4 == 0 => {
                Self::List { report, available: *available, codes: list.as_chunks::<4>().0.iter().map(code).collect() }
            }
            (0x04 | 0x06, data) if data.len() >= 4 => {
                let (head, data) = data.split_first_chunk::<4>()?;
                Self::Recorded { report, code: code(head), data }
            }
            _ => Self::Other { report, data },
        })
    }
}
