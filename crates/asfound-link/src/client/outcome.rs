//! What became of a request.

use asfound_wire::service::Refusal;

/// Why the module got no request.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Undelivered {
    /// The gateway refused to pass it on, with this code (ISO 13400-2, diagnostic message negative acknowledge).
    Gateway(u8),
}

/// How a module that gave no answer was silent.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Silence {
    /// Nothing came.
    Nothing,
    /// It said "pending", and then nothing.
    AfterPending,
    /// It said "pending" until the longest time was over.
    StillPending,
    /// It said "busy" as often as it was asked.
    Busy,
    /// A response came that is none to this request; this is the last one.
    SomethingElse(Vec<u8>),
    /// It refused, and it cannot be told whether that was about this request.
    DoubtfulRefusal(Refusal),
}

/// What became of a request.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// The positive response, from its first byte on.
    Answered(Vec<u8>),
    /// The module said no.
    Refused(Refusal),
    /// There was no answer.
    Silent(Silence),
    /// The module did not get the request.
    Undelivered(Undelivered),
}

impl Outcome {
    /// Whether the module said anything to the point.
    pub const fn is_answer(&self) -> bool {
        matches!(self, Self::Answered(_) | Self::Refused(_))
    }
}
