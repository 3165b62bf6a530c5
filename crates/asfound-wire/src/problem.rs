//! What in a log could not be read. Nothing of it is dropped silently: each is told, with its place.

use std::fmt;

use thiserror::Error;

/// Why a line is no frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Error)]
pub enum LineProblem {
    /// Neither form fits.
    #[error("the line has neither the compact form nor the columns of a candump log")]
    Form,
    /// The bracket in front holds no time.
    #[error("the time in brackets is neither seconds nor a date")]
    Time,
    /// The identifier is not hexadecimal or too long.
    #[error("the identifier is no CAN identifier")]
    Id,
    /// Data that is not whole bytes of hexadecimal digits.
    #[error("the data is not whole bytes in hexadecimal")]
    Data,
    /// The length in brackets is not the number of bytes.
    #[error("the length in brackets is not the number of bytes that follow")]
    Length,
    /// More bytes than such a frame can have.
    #[error("there are more bytes than a frame of this kind can have")]
    TooLong,
    /// A frame of a later bus, whose meaning is not known here.
    #[error("the frame is of a kind that is not read (CAN XL)")]
    Kind,
    /// A line without end.
    #[error("the line is longer than any candump writes")]
    LongLine,
}

/// Where in a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LogPlace {
    /// A line of a text log, from 1.
    Line(u64),
    /// A packet of a capture, from 1.
    Packet(u64),
}

impl fmt::Display for LogPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Line(line) => write!(f, "line {line}"),
            Self::Packet(packet) => write!(f, "packet {packet}"),
        }
    }
}

/// One piece of a log that could not be read, or that ends where it should go on.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{place}: {what}")]
pub struct LogProblem {
    /// Where.
    pub place: LogPlace,
    /// What.
    pub what: ProblemKind,
}

/// What could not be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Error)]
pub enum ProblemKind {
    /// A line of a text log.
    #[error(transparent)]
    Line(#[from] LineProblem),
    /// A packet of a link that carries neither CAN frames nor IP.
    #[error("packets of link type {0} are not read")]
    LinkType(i32),
    /// An encrypted connection of diagnostics on IP.
    #[error("an encrypted connection of diagnostics on IP (port 3496, ISO 13400-2) cannot be read")]
    Encrypted,
    /// A packet that is too short for what it says it is.
    #[error("the packet is shorter than its own lengths say")]
    Short,
    /// A capture block that its format does not allow.
    #[error("the capture is damaged here; what follows cannot be read")]
    Damaged,
    /// The log ends inside a line, packet or compressed block.
    #[error("the log ends in the middle; everything before was read")]
    Cut,
    /// Bytes of a connection that are not in the log.
    #[error("bytes of the connection are missing")]
    Gap,
    /// Bytes on a connection that are no message of ISO 13400-2.
    #[error("bytes outside any diagnostics-on-IP message were skipped")]
    NoMessage,
    /// A fragment of an IP packet.
    #[error("a fragment of an IP packet is not put together")]
    Fragment,
    /// Too many connections at once to follow them all.
    #[error("too many connections at once; the one that was silent longest is no longer followed")]
    Connections,
}
