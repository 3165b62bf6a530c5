//! What is known of the bits of one record under one software.

use time::OffsetDateTime;

use super::activity_times::{ActivityTimes, is_one_sitting};
use super::contents::{MomentContent, ReadingSet, RecordContents};
use super::evidence::{Movement, MovementEvidence, SortedBits};
use super::steps::Steps;
use crate::identity::Identity;
use crate::moment::TimeSpan;
use crate::names::EntryNumber;
use crate::value::BitMask;

/// That somebody altered bits of the record.
#[derive(Debug, Clone)]
pub(super) struct AlteredMask {
    /// The entry of the work, or of the bus log.
    pub(super) entry: EntryNumber,
    pub(super) when: TimeSpan,
    /// The bits; nothing where that is not known, so that it may be any.
    pub(super) bits: Option<BitMask>,
    /// How many bytes were written; 0 where that is not known.
    pub(super) length: usize,
}

/// What entries say of one record of a module with one part number and software.
#[derive(Debug, Clone)]
pub(super) struct RecordObservations {
    /// Part number and software.
    pub(super) software: Identity,
    pub(super) contents: RecordContents,
    pub(super) writes: Vec<AlteredMask>,
    /// What bus logs showed.
    pub(super) logs: Vec<Movement>,
}

/// What follows from it.
#[derive(Debug, Clone)]
pub(super) struct RecordMovement {
    /// Part number and software.
    pub(super) software: Identity,
    /// What shows that bits move.
    pub(super) movements: Vec<Movement>,
    /// All bits that were seen to move.
    moving: BitMask,
    /// Bits that somebody altered, since when.
    written: Steps,
    /// Bits that somebody altered and that were not seen to move after that, since when.
    settings: Steps,
}

impl RecordObservations {
    pub(super) fn new(software: Identity) -> Self {
        Self { software, contents: RecordContents::default(), writes: Vec::new(), logs: Vec::new() }
    }

    /// What follows from it; `done` is everything that was done to the vehicle.
    pub(super) fn finish(self, readings: &ReadingSet, done: &ActivityTimes) -> RecordMovement {
        let Self { software, contents, writes, mut logs } = self;
        let all = BitMask::all(length(&contents, &writes, &logs));
        let bits_of = |write: &AlteredMask| write.bits.clone().unwrap_or_else(|| all.clone());
        let written = Steps::of(writes.iter().map(|write| (write.when.first(), bits_of(write))).collect());

        logs.sort_by_key(|movement| movement.from);
        // What moved in this log or a later one.
        let mut later: Vec<BitMask> = vec![BitMask::default()];
        for movement in logs.iter().rev() {
            let mut bits = movement.bits.clone();
            later.last().into_iter().for_each(|later| bits.add(later));
            later.push(bits);
        }
        later.reverse();
        let settings = writes.iter().map(|write| {
            let after = logs.partition_point(|movement| movement.from <= write.when.last());
            (write.when.first(), bits_of(write).without(&later[after]))
        });
        let settings = Steps::of(settings.collect());

        let mut movements = logs;
        movements.extend(between_readings(&contents.in_time(readings), &written, done));
        let mut moving = BitMask::default();
        movements.iter().for_each(|movement| moving.add(&movement.bits));
        RecordMovement { software, movements, moving, written, settings }
    }
}

/// The length of the longest content that was seen.
fn length(contents: &RecordContents, writes: &[AlteredMask], logs: &[Movement]) -> usize {
    let written = writes.iter().map(|write| write.length.max(write.bits.as_ref().map_or(0, BitMask::len)));
    let moved = logs.iter().map(|movement| movement.bits.len());
    written.chain(moved).chain([contents.longest()]).max().unwrap_or(0)
}

/// What moved between the readings of one sitting. A difference in bits that somebody wrote before may be another hand.
fn between_readings(found: &[MomentContent<'_>], written: &Steps, done: &ActivityTimes) -> Vec<Movement> {
    let mut movements = Vec::new();
    for pair in found.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        if a.bytes.len() != b.bytes.len() || a.bytes == b.bytes || !is_one_sitting(a, b, done) {
            continue;
        }
        let (from, until) = (a.read.when.first(), b.read.when.first());
        let mut bits = BitMask::differing(a.bytes.as_slice(), b.bytes.as_slice());
        written.at(Some(until)).into_iter().for_each(|written| bits.remove(written));
        if !bits.is_empty() {
            let evidence = MovementEvidence::Readings(a.read.entry, b.read.entry);
            movements.push(Movement { evidence, bits, times: 1, from, until });
        }
    }
    movements
}

impl RecordMovement {
    /// Sorts bits in which a reading at `at` differs from what was known before it; by everything that was ever written
    /// where there is no such moment.
    pub(super) fn sort(&self, differing: &BitMask, at: Option<OffsetDateTime>) -> SortedBits {
        let written = self.written.at(at).cloned().unwrap_or_default();
        let moving = differing.common(&self.moving).without(&written);
        let settings = self.settings.at(at).map_or_else(BitMask::default, |settings| differing.common(settings));
        let unclear = differing.clone().without(&moving).without(&settings);
        SortedBits { moving, settings, unclear }
    }
}
