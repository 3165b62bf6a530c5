//! Forms of log that are not read, told by how they begin, so that they can be named for what they are.

use std::fmt;

use super::candump::candump_line;
use crate::frame::{CanFrame, Interfaces};

/// A form of log that is not read here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum OtherForm {
    /// ASC: text with a head of `date` and `base`.
    Asc,
    /// BLF: binary, in compressed containers.
    Blf,
    /// TRC: text whose head begins with `;$FILEVERSION`.
    Trc,
    /// MDF 4 (ASAM), the open form of measurements.
    Mdf4,
    /// MDF 3 and before.
    Mdf3,
    /// A table of frames with the columns that python-can writes.
    FrameTable,
    /// Another table.
    Table,
    /// A database of `SQLite`.
    Database,
    /// A ZIP archive.
    Zip,
}

impl fmt::Display for OtherForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Asc => "an ASC log",
            Self::Blf => "a BLF log",
            Self::Trc => "a TRC log",
            Self::Mdf4 => "a measurement in MDF 4",
            Self::Mdf3 => "a measurement in MDF 3",
            Self::FrameTable => "a table of frames (CSV)",
            Self::Table => "a table (CSV)",
            Self::Database => "an SQLite database",
            Self::Zip => "a ZIP archive",
        })
    }
}

impl OtherForm {
    /// Which of them a file is that begins so; nothing where it may be a log that is read.
    pub(super) fn of(head: &[u8]) -> Option<Self> {
        // First bytes: BLF as python-can 4.6 writes and reads it; MDF by its identification block (asammdf 8); SQLite and ZIP
        // by their specifications.
        match head {
            [b'L', b'O', b'G', b'G', ..] => return Some(Self::Blf),
            [b'P', b'K', 3 | 5, 4 | 6, ..] => return Some(Self::Zip),
            _ if head.starts_with(b"MDF     ") || head.starts_with(b"UnFinMF ") => {
                return Some(if head.get(8) == Some(&b'4') { Self::Mdf4 } else { Self::Mdf3 });
            }
            _ if head.starts_with(b"SQLite format 3\0") => return Some(Self::Database),
            _ => {}
        }
        if head.contains(&0) {
            return None;
        }
        // Where one line is a frame, the log is read, whatever stands around it.
        let (mut interfaces, mut frame) = (Interfaces::default(), CanFrame::empty());
        let mut lines = head.split(|byte| *byte == b'\n');
        if lines.any(|line| candump_line(line, &mut interfaces, &mut frame) == Ok(true)) {
            return None;
        }
        Self::of_text(head)
    }

    fn of_text(head: &[u8]) -> Option<Self> {
        let mut lines = head.split(|byte| *byte == b'\n').map(<[u8]>::trim_ascii).filter(|line| !line.is_empty());
        let first = lines.next()?;
        if first.starts_with(b";$FILEVERSION") || is_oldest_trc(head) {
            return Some(Self::Trc);
        }
        let begins =
            |line: &[u8], word: &[u8]| line.get(..word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word));
        // The date may be missing, and comments may stand before it.
        let asc = std::iter::once(first).chain(lines.clone()).take(8);
        if asc.into_iter().any(|line| begins(line, b"base hex") || begins(line, b"base dec")) {
            return Some(Self::Asc);
        }
        if begins(first, b"timestamp,arbitration_id,") {
            return Some(Self::FrameTable);
        }
        let second = lines.next()?;
        if [b'#', b';', b'('].contains(&first[0]) {
            return None;
        }
        let columns = |separator: u8| {
            let count = |line: &[u8]| memchr::memchr_iter(separator, line).count();
            // Two lines of the same three columns or more are none by chance.
            (count(first) >= 2 && count(first) == count(second)).then_some(Self::Table)
        };
        columns(b',').or_else(|| columns(b';')).or_else(|| columns(b'\t'))
    }
}

/// The oldest form of TRC has comments alone as its head, one of which names the columns.
fn is_oldest_trc(head: &[u8]) -> bool {
    let mut lines = head.split(|byte| *byte == b'\n').map(<[u8]>::trim_ascii).filter(|line| !line.is_empty());
    lines.by_ref().take_while(|line| line.starts_with(b";")).any(|line| {
        let words = line[1..].split(u8::is_ascii_whitespace).filter(|word| !word.is_empty());
        words.take(2).eq([b"Message".as_slice(), b"Number"])
    })
}
