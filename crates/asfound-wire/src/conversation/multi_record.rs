//! Reads of several records at once, told apart when the whole log is known.

use std::collections::BTreeMap;

use super::{ModuleAddress, ReadRun, RecordEvent, RecordHappening};
use crate::frame::Timestamp;
use crate::service::{SplitResponse, split_records};
use crate::transport::Mendings;

/// Knows how long records are, as definitions say.
pub trait RecordLengths {
    /// Bytes of a record in a module, where it is known.
    fn length(&self, module: &ModuleAddress, record: u16) -> Option<usize>;
}

impl<F: Fn(&ModuleAddress, u16) -> Option<usize>> RecordLengths for F {
    fn length(&self, module: &ModuleAddress, record: u16) -> Option<usize> {
        self(module, record)
    }
}

/// A response with several records that cannot be told apart. Its bytes are kept as they came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unsplit {
    /// When it was asked for.
    pub at: Option<Timestamp>,
    /// Where in the log.
    pub number: u64,
    /// The records asked for, in their order.
    pub asked: Vec<u16>,
    /// What came after the service.
    pub data: Vec<u8>,
    /// What in the log was put right to make it out.
    pub mended: Mendings,
    /// How often the same came again right after.
    pub times: u32,
    /// When last.
    pub until: Option<Timestamp>,
}

/// The lengths that a record was seen with, alone in a response.
#[derive(Debug, Clone, Default)]
pub(super) struct SeenLengths(BTreeMap<u16, Option<usize>>);

impl SeenLengths {
    /// A record was read with this many bytes. Different lengths tell nothing.
    pub fn saw(&mut self, record: u16, length: usize) {
        let seen = self.0.entry(record).or_insert(Some(length));
        if *seen != Some(length) {
            *seen = None;
        }
    }

    fn length(&self, record: u16) -> Option<usize> {
        self.0.get(&record).copied().flatten()
    }
}

/// Tells apart what can be told apart: events by record, and what is left. What one response shows helps the others.
pub(super) fn split_all(
    module: ModuleAddress,
    mut waiting: Vec<Unsplit>,
    seen: &mut SeenLengths,
    lengths: &dyn RecordLengths,
) -> (BTreeMap<u16, Vec<RecordEvent>>, Vec<Unsplit>) {
    let mut events: BTreeMap<u16, Vec<RecordEvent>> = BTreeMap::new();
    loop {
        let before = waiting.len();
        let mut left = Vec::new();
        for several in waiting {
            let length = |record| lengths.length(&module, record).or_else(|| seen.length(record));
            let SplitResponse::Records(records) = split_records(&several.asked, &several.data, &length) else {
                left.push(several);
                continue;
            };
            for (record, bytes) in &records {
                seen.saw(*record, bytes.len());
                let run = ReadRun { bytes: bytes.to_vec(), times: several.times, until: several.until };
                let what = RecordHappening::Read(run);
                events.entry(*record).or_default().push(RecordEvent {
                    at: several.at,
                    number: several.number,
                    what,
                    tester: None,
                    mended: several.mended,
                    gap: None,
                });
            }
        }
        if left.is_empty() || left.len() == before {
            return (events, left);
        }
        waiting = left;
    }
}
