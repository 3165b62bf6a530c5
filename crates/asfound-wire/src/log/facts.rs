//! What a log was, told after it was read.

use std::collections::BTreeMap;

use super::{LogClock, ProblemKind};
use crate::frame::{Interfaces, Timestamp};

/// The form of a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogForm {
    /// Text as candump writes it.
    Candump,
    /// A capture in the old form (libpcap).
    Pcap,
    /// A capture in the new form (pcapng).
    Pcapng,
}

/// What a log was.
#[derive(Debug, Clone)]
pub struct LogFacts {
    /// Its form.
    pub form: LogForm,
    /// What its times count from.
    pub clock: LogClock,
    /// Lines or packets.
    pub pieces: u64,
    /// CAN frames.
    pub frames: u64,
    /// Messages of diagnostics on IP, of every kind.
    pub ip_messages: u64,
    /// The first moment that the log tells.
    pub first: Option<Timestamp>,
    /// The last moment in the order of the log.
    pub last: Option<Timestamp>,
    /// How often each problem came.
    pub problems: BTreeMap<ProblemKind, u64>,
    /// Whether CAN identifiers stood with the lowest byte first, against what the link type says.
    pub swapped_identifiers: bool,
    /// The buses that it names.
    pub interfaces: Interfaces,
}

impl LogFacts {
    pub(super) fn new(form: LogForm) -> Self {
        Self {
            form,
            clock: LogClock::None,
            pieces: 0,
            frames: 0,
            ip_messages: 0,
            first: None,
            last: None,
            problems: BTreeMap::new(),
            swapped_identifiers: false,
            interfaces: Interfaces::default(),
        }
    }

    #[inline]
    pub(super) fn saw(&mut self, moment: Option<Timestamp>) {
        if moment.is_some() {
            if self.first.is_none() {
                self.first = moment;
            }
            self.last = moment;
        }
    }
}
