//! Takes entries one after the other, and collects what shows that bits move.

use std::collections::{BTreeMap, BTreeSet};

use time::OffsetDateTime;

use super::activity_times::ActivityTimes;
use super::contents::{ReadingContent, ReadingSet};
use super::evidence::{Movement, MovementEvidence, SortedBits};
use super::record_movement::{AlteredMask, RecordMovement, RecordObservations};
use crate::entry::{Body, BusLogBody, Effects, Entry, ReadingBody, WireAnswer, WireWrite, held_before};
use crate::identity::Identity;
use crate::moment::{Precision, TimeSpan};
use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::state::State;
use crate::value::{BitMask, HexBytes};

/// By module, record, and part number and software.
type Records<T> = BTreeMap<ModuleName, BTreeMap<RecordName, Vec<T>>>;

/// Takes entries one after the other, in the order in which they were filed.
#[derive(Debug, Clone, Default)]
pub struct MovementObserver {
    records: Records<RecordObservations>,
    readings: ReadingSet,
    /// When anything was done to the vehicle, with the entry that tells of it.
    done: Vec<(EntryNumber, TimeSpan)>,
    never_made: BTreeSet<EntryNumber>,
    /// When what entries tell of happened, where a later one says so.
    corrected: BTreeMap<EntryNumber, TimeSpan>,
}

/// What is known of the bits of every record: which ones move by themselves, and which ones somebody wrote.
#[derive(Debug, Clone, Default)]
pub struct Movements {
    records: Records<RecordMovement>,
}

impl MovementObserver {
    /// Takes in the next entry; `after` is the state with it.
    pub fn push(&mut self, entry: &Entry, after: &State) {
        match &entry.body {
            Body::Reading(reading) => self.reading(entry, reading, after),
            Body::Change(work) | Body::PutBack(_, work) => self.work(entry, &[&work.effects, &work.late], after),
            Body::Correction(correction) => {
                if correction.never_made {
                    self.never_made.insert(correction.corrects);
                }
                if let Some(happened) = correction.happened {
                    self.corrected.insert(correction.corrects, TimeSpan::around(happened, correction.precision));
                }
            }
            Body::Witness(witness) => self.witness(entry, witness, after),
            _ => {}
        }
    }

    /// What follows from all entries.
    pub fn finish(self) -> Movements {
        let Self { records, mut readings, done, never_made, corrected } = self;
        let when = |entry: EntryNumber, told: TimeSpan| corrected.get(&entry).copied().unwrap_or(told);
        for read in readings.iter_mut() {
            if let Some(corrected) = corrected.get(&read.entry) {
                (read.when, read.told) = (*corrected, corrected.first() == corrected.last());
            }
        }
        let made = |entry: &EntryNumber| !never_made.contains(entry);
        let done = done.into_iter().filter(|(entry, _)| made(entry)).map(|(entry, span)| when(entry, span));
        let done = ActivityTimes::of(done.collect());
        let finish = |mut one: RecordObservations| {
            one.writes.retain(|write| made(&write.entry));
            one.writes.iter_mut().for_each(|write| write.when = when(write.entry, write.when));
            one.finish(&readings, &done)
        };
        let of_module = |records: BTreeMap<RecordName, Vec<RecordObservations>>| {
            records.into_iter().map(|(record, all)| (record, all.into_iter().map(finish).collect())).collect()
        };
        Movements { records: records.into_iter().map(|(module, records)| (module, of_module(records))).collect() }
    }

    fn reading(&mut self, entry: &Entry, reading: &ReadingBody, after: &State) {
        let moment = entry.moment();
        let read =
            ReadingContent { entry: entry.number, when: moment.span(), told: moment.is_told(), role: reading.role };
        let place = self.readings.push(read);
        for (module, covered) in &reading.covered {
            let Some(known) = after.module(module) else { continue };
            let late = reading.late.get(module);
            // What is told late tells of its own moment, and stands beside the state.
            let identity = late.and_then(|late| late.identity.as_ref()).unwrap_or(&known.identity);
            let software = software(identity);
            for record in &covered.records {
                let told_late = late.and_then(|late| late.records.get(record));
                let Some(bytes) = told_late.or_else(|| Some(&known.records.get(record)?.bytes)) else { continue };
                self.find(module, record, &software).contents.add(place, bytes, identity.serial.as_ref());
            }
        }
    }

    fn work(&mut self, entry: &Entry, told: &[&Effects], after: &State) {
        let when = entry.moment().span();
        self.done.push((entry.number, when));
        for effect in told.iter().flat_map(|effects| &effects.records) {
            let identity = after.identity(&effect.module);
            let found = effect.found.as_ref().map(HexBytes::as_slice);
            let bits = found.map(|found| BitMask::differing(found, effect.left.as_slice()));
            let write = AlteredMask { entry: entry.number, when, bits, length: effect.left.as_slice().len() };
            self.find(&effect.module, &effect.record, &software(&identity)).writes.push(write);
        }
    }

    fn witness(&mut self, entry: &Entry, witness: &BusLogBody, after: &State) {
        for (place, write) in witness.writes.iter().enumerate() {
            if write.answer == WireAnswer::Refused {
                continue;
            }
            let when = write.at.map_or_else(|| entry.moment().span(), |at| TimeSpan::around(at, Precision::Second));
            self.done.push((entry.number, when));
            let bits = altered(write, held_before(&witness.writes, place));
            let length = write.written.as_ref().or(write.read_back.as_ref()).map_or(0, |left| left.as_slice().len());
            let identity = after.identity(&write.module);
            let of_record = self.find(&write.module, &write.record, &software(&identity));
            of_record.writes.push(AlteredMask { entry: entry.number, when, bits, length });
        }
        for moved in witness.moved.iter().filter(|moved| moved.times > 0) {
            let span = entry.moment().span();
            let identity = after.identity(&moved.module);
            self.find(&moved.module, &moved.record, &software(&identity)).logs.push(Movement {
                evidence: MovementEvidence::Log(entry.number),
                bits: BitMask::from_bytes(moved.bits.as_slice()),
                times: moved.times,
                from: moved.from.or(moved.until).unwrap_or(span.first()),
                until: moved.until.unwrap_or(span.last()),
            });
        }
    }

    fn find(&mut self, module: &ModuleName, record: &RecordName, software: &Identity) -> &mut RecordObservations {
        let of_record = self.records.entry(module.clone()).or_default().entry(record.clone()).or_default();
        let place = of_record.iter().position(|one| !one.software.differs_from(software));
        let place = place.unwrap_or_else(|| {
            of_record.push(RecordObservations::new(software.clone()));
            of_record.len() - 1
        });
        let one = &mut of_record[place];
        if one.software != *software {
            one.software = one.software.updated_by(software);
        }
        one
    }
}

impl Movements {
    /// Sorts bits in which a reading of a record at `at` differs from what was known before it, and which no definition
    /// names; by everything that was ever written where there is no such moment. `identity` is what the module was then.
    pub fn sort(
        &self,
        (module, record): (&ModuleName, &RecordName),
        identity: &Identity,
        differing: &BitMask,
        at: Option<OffsetDateTime>,
    ) -> SortedBits {
        let of_record = self.of_record(module, record, identity);
        of_record.map_or_else(|| SortedBits::unclear(differing), |known| known.sort(differing, at))
    }

    /// What shows that bits of a record move by themselves, under the software that the module had.
    pub fn of(&self, module: &ModuleName, record: &RecordName, identity: &Identity) -> &[Movement] {
        self.of_record(module, record, identity).map_or(&[], |known| &known.movements)
    }

    /// Every record of which bits were seen to move: module, record, part number and software, and the evidence.
    pub fn iter(&self) -> impl Iterator<Item = (&ModuleName, &RecordName, &Identity, &[Movement])> {
        self.records.iter().flat_map(|(module, records)| {
            let all = records.iter().flat_map(|(record, all)| all.iter().map(move |one| (record, one)));
            all.filter(|(_, one)| !one.movements.is_empty())
                .map(move |(record, one)| (module, record, &one.software, one.movements.as_slice()))
        })
    }

    fn of_record(&self, module: &ModuleName, record: &RecordName, identity: &Identity) -> Option<&RecordMovement> {
        let software = software(identity);
        self.records.get(module)?.get(record)?.iter().find(|one| !one.software.differs_from(&software))
    }
}

/// Whether bits that nobody names mean the same in a module that was one and is the other.
pub(crate) fn same_software(before: &Identity, after: &Identity) -> bool {
    !software(before).differs_from(&software(after))
}

/// What of an identity says what the bits of a record are.
fn software(identity: &Identity) -> Identity {
    Identity { hardware: None, serial: None, ..identity.clone() }
}

/// The bits that a write on the bus altered; nothing where that is not known.
fn altered(write: &WireWrite, before: Option<&HexBytes>) -> Option<BitMask> {
    let left = write.written.as_ref().or(write.read_back.as_ref())?;
    Some(BitMask::differing(before?.as_slice(), left.as_slice()))
}
