//! From a stream of bytes to items.

use std::io::{self, Read};

use thiserror::Error;

use super::sink::{Plain, Sink};
use super::skip_ids::SkipIds;
use super::text_source::plain_text;
use super::truncated::TruncatedReader;
use super::unpack::{peek, unpacked};
use super::{LogClock, LogFacts, LogForm, LogProblem, OtherForm, capture, lines};
use crate::frame::{CanFrame, Interface};
use crate::ip::IpMessage;

/// One thing in a log.
#[derive(Debug)]
pub enum LogItem<'a> {
    /// A bus that is named for the first time. Comes before the first frame of it.
    Bus(Interface, String),
    /// A CAN frame.
    Frame(&'a CanFrame),
    /// So many data frames of identifiers that are to be passed over, see [`SkipIds`].
    Ordinary(u64),
    /// A message of diagnostics on IP.
    Ip(IpMessage),
    /// Something that could not be read.
    Problem(LogProblem),
}

/// Why a log could not be read at all, or not to its end.
#[derive(Debug, Error)]
pub enum LogError {
    /// Reading failed; what came before was given out.
    #[error("the log could not be read: {0}")]
    Read(#[from] io::Error),
    /// Nothing is in it.
    #[error("the log is empty")]
    Empty,
    /// A form that is known and not read.
    #[error("the log is {0}, which is not read")]
    Other(OtherForm),
    /// Not a form that is known.
    #[error("the file is neither candump text nor a capture (pcap, pcapng)")]
    Form,
}

impl LogError {
    /// What to do about it.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::Read(_) | Self::Empty | Self::Other(_) => None,
            Self::Form => {
                Some("save the log as candump text (`candump -L`), pcap or pcapng; gzip and zstd may be around it")
            }
        }
    }
}

/// Reads a whole log, in its order, and hands every item to `take`. Keeps no more of it than a few blocks.
///
/// A log that breaks off gives everything before that, and a problem that says so.
pub fn read_log<R: Read>(reader: R, take: impl FnMut(LogItem<'_>)) -> Result<LogFacts, LogError> {
    read_log_passing_over(reader, &SkipIds::none(), take)
}

/// [`read_log`], where frames of these identifiers may be counted and not given out.
pub fn read_log_passing_over<R: Read>(
    reader: R,
    ordinary: &SkipIds,
    take: impl FnMut(LogItem<'_>),
) -> Result<LogFacts, LogError> {
    read_into(reader, ordinary, &mut Plain(take))
}

/// The same into a sink.
pub(super) fn read_into(reader: impl Read, ordinary: &SkipIds, sink: &mut impl Sink) -> Result<LogFacts, LogError> {
    let (source, ending) = TruncatedReader::new(unpacked(reader)?);
    let (head, source) = peek(plain_text(source)?, 4096)?;
    // A capture in the new form begins with line ends.
    if head.trim_ascii().is_empty() && form(&head) != Some(LogForm::Pcapng) && !ending.broke_off_already() {
        return Err(LogError::Empty);
    }
    if let Some(other) = OtherForm::of(&head) {
        return Err(LogError::Other(other));
    }
    let mut facts = match form(&head).ok_or(LogError::Form)? {
        LogForm::Candump => lines::read(source, LogClock::of_text(&head), &ending, ordinary, sink)?,
        form => capture::read(form, source, &ending, sink)?,
    };
    facts.interfaces.number(b"");
    Ok(facts)
}

fn form(head: &[u8]) -> Option<LogForm> {
    match head {
        [0xA1, 0xB2, 0xC3, 0xD4, ..]
        | [0xD4, 0xC3, 0xB2, 0xA1, ..]
        | [0xA1, 0xB2, 0x3C, 0x4D, ..]
        | [0x4D, 0x3C, 0xB2, 0xA1, ..] => Some(LogForm::Pcap),
        [0x0A, 0x0D, 0x0D, 0x0A, ..] => Some(LogForm::Pcapng),
        // Text has no zero bytes.
        _ => (!head.contains(&0)).then_some(LogForm::Candump),
    }
}
