//! Memory that was written.

use super::{TesterAddress, WriteOutcome};
use crate::frame::Timestamp;

/// A write of memory (3D).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MemoryWrite {
    /// When it was asked for.
    pub at: Option<Timestamp>,
    /// Where in the log.
    pub number: u64,
    /// Who asked, where the log tells it.
    pub tester: Option<TesterAddress>,
    /// Where in the memory; `None` where the request does not tell it.
    pub address: Option<u64>,
    /// The bytes; `None` where the request is not in the log.
    pub bytes: Option<Vec<u8>>,
    /// What came of it.
    pub outcome: WriteOutcome,
}
