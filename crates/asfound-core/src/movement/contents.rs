//! What readings found in one record, whatever the order in which they were filed.

use std::sync::Arc;

use crate::entry::ReadingRole;
use crate::moment::TimeSpan;
use crate::names::EntryNumber;
use crate::value::HexBytes;

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct ReadingContent {
    pub(super) entry: EntryNumber,
    pub(super) when: TimeSpan,
    /// Whether that was told to the second.
    pub(super) told: bool,
    pub(super) role: ReadingRole,
}

/// Readings, told by their places in a list of all readings.
#[derive(Debug, Clone, Default)]
pub(super) struct ReadingSet(Vec<ReadingContent>);

impl ReadingSet {
    /// Adds a reading, and gives its place.
    pub(super) fn push(&mut self, read: ReadingContent) -> u32 {
        self.0.push(read);
        // A journal numbers its entries with as many bits.
        u32::try_from(self.0.len() - 1).unwrap_or(u32::MAX)
    }

    pub(super) fn get(&self, place: u32) -> Option<&ReadingContent> {
        self.0.get(usize::try_from(place).ok()?)
    }

    pub(super) fn iter_mut(&mut self) -> impl Iterator<Item = &mut ReadingContent> {
        self.0.iter_mut()
    }
}

/// The same content in readings that were filed one after the other.
#[derive(Debug, Clone)]
struct ContentRun {
    bytes: HexBytes,
    /// The serial number of the unit, where it is known.
    serial: Option<Arc<str>>,
    readings: Vec<u32>,
}

/// What readings found in one record, as they were filed.
#[derive(Debug, Clone, Default)]
pub(super) struct RecordContents(Vec<ContentRun>);

/// What the readings of one moment found: one content of one unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct MomentContent<'c> {
    pub(super) read: ReadingContent,
    pub(super) bytes: &'c HexBytes,
    pub(super) serial: Option<&'c str>,
}

impl RecordContents {
    /// Adds what a reading found; `reading` is its place.
    pub(super) fn add(&mut self, reading: u32, bytes: &HexBytes, serial: Option<&String>) {
        let serial = serial.map(String::as_str);
        match self.0.last_mut() {
            Some(run) if run.bytes == *bytes && run.serial.as_deref() == serial => run.readings.push(reading),
            last => {
                // Most are of the same unit as the one before.
                let known = last.and_then(|run| run.serial.clone()).filter(|known| serial == Some(known));
                let serial = known.or_else(|| serial.map(Arc::from));
                self.0.push(ContentRun { bytes: bytes.clone(), serial, readings: vec![reading] });
            }
        }
    }

    pub(super) fn longest(&self) -> usize {
        self.0.iter().map(|run| run.bytes.len()).max().unwrap_or(0)
    }

    /// What was found, by the moments of the readings. Of several readings of one moment that found different contents none is
    /// left, because nobody knows which was last; of readings of which only the day is known neither.
    pub(super) fn in_time<'c>(&'c self, readings: &ReadingSet) -> Vec<MomentContent<'c>> {
        let found = self.0.iter().flat_map(|run| run.readings.iter().map(move |place| (run, *place)));
        let found = found.filter_map(|(run, place)| {
            let read = *readings.get(place)?;
            let exact = read.when.first() == read.when.last();
            exact.then_some(MomentContent { read, bytes: &run.bytes, serial: run.serial.as_deref() })
        });
        let mut found: Vec<MomentContent<'c>> = found.collect();
        found.sort_by_key(|found| (found.read.when.first(), found.read.entry));
        let moments = found.chunk_by(|a, b| a.read.when.first() == b.read.when.first());
        let alike = |moment: &&[MomentContent<'_>]| moment.iter().all(|one| one.bytes == moment[0].bytes);
        // Readings of one moment that say the same count as one, as left if one of them is.
        let one = |moment: &[MomentContent<'c>]| {
            let as_left = moment.iter().find(|one| one.read.role == ReadingRole::AsLeft);
            as_left.or(moment.first()).copied()
        };
        moments.filter(alike).filter_map(one).collect()
    }
}
