//! When the entries of a journal happened, and what can be said of their order.

use std::collections::{BTreeMap, BTreeSet};

use time::OffsetDateTime;

use crate::entry::{Body, Correction, Entry, Moment};
use crate::moment::StatedTime;
use crate::names::{EntryNumber, ModuleName};

/// The places of a journal's entries in time, counted from 1 as entries are.
#[derive(Debug, Clone, Default)]
pub(super) struct TimeOrder {
    entries: Vec<EntryNumber>,
    places: BTreeMap<EntryNumber, EntryNumber>,
}

impl TimeOrder {
    /// Of entries in the order in which they happened.
    pub(super) fn of(entries: Vec<EntryNumber>) -> Self {
        let places = entries.iter().zip(1..).filter_map(|(entry, place)| Some((*entry, EntryNumber::new(place)?)));
        Self { places: places.collect(), entries }
    }

    /// The entries with their places, in order.
    pub(super) fn entries(&self) -> impl Iterator<Item = (EntryNumber, EntryNumber)> {
        self.entries.iter().zip(1..).filter_map(|(entry, place)| Some((*entry, EntryNumber::new(place)?)))
    }

    /// The place of an entry; one that is not there has its number.
    pub(super) fn place_of(&self, entry: EntryNumber) -> EntryNumber {
        self.places.get(&entry).copied().unwrap_or(entry)
    }

    /// The entry at a place.
    pub(super) fn entry_at(&self, place: EntryNumber) -> EntryNumber {
        let at = usize::try_from(place.get()).ok().and_then(|place| place.checked_sub(1));
        at.and_then(|at| self.entries.get(at)).copied().unwrap_or(place)
    }
}

/// The moments of a journal's entries, those that were corrected later as corrected.
#[derive(Debug, Clone, Default)]
pub(super) struct Chronology {
    moments: BTreeMap<EntryNumber, Moment>,
    /// The last moment so far, where every entry so far is certainly later than all before it.
    last: Option<Moment>,
    /// Whether some entry is not certainly later than all before it.
    disordered: bool,
    /// Until when each module was last read or altered, as far as the entries so far tell.
    told_until: BTreeMap<ModuleName, OffsetDateTime>,
}

impl Chronology {
    /// Adds the next entry.
    pub(super) fn push(&mut self, entry: &Entry) {
        let moment = self.moment_of(entry);
        if let Body::Correction(Correction { corrects, happened: Some(at), precision, .. }) = &entry.body
            && let Some(corrected) = self.moments.get_mut(corrects)
        {
            *corrected = corrected.corrected(StatedTime { at: *at, precision: *precision });
            self.disordered = true;
        }
        // Work is often noted later than it was done; a log of it tells when that was. One whose clock puts the work before what
        // was known when it was filed tells nothing.
        if let Body::Witness(witness) = &entry.body {
            for write in &witness.writes {
                if let (Some(of), Some(at)) = (write.entry.filter(|of| *of < entry.number), write.at)
                    && self.moments.range(..of).all(|(_, earlier)| earlier.span().last() <= at)
                    && let Some(noted) = self.moments.get_mut(&of)
                    && at < noted.span().last()
                {
                    *noted = noted.corrected(at.into());
                    self.disordered = true;
                }
            }
        }
        // What an enrolment, a note, an order or a correction tells does not depend on when it happened.
        if matches!(entry.body, Body::Reading(_) | Body::Change(_) | Body::PutBack(..)) {
            self.disordered |= self.last.is_some_and(|last| !last.is_before(&moment));
            self.last = Some(moment);
        }
        for module in modules_of(entry) {
            let until = self.told_until.entry(module.clone()).or_insert_with(|| moment.span().last());
            *until = moment.span().last().max(*until);
        }
        self.moments.insert(entry.number, moment);
    }

    /// When an entry happened. Work is often noted some time after it was done: where nobody says when that was, it is only known
    /// that it was done by then, and after the last that was known of its modules. Steps that were walked were filed as they were done.
    fn moment_of(&self, entry: &Entry) -> Moment {
        let moment = entry.moment();
        let noted = match &entry.body {
            Body::Change(work) | Body::PutBack(_, work) => work.run.is_none(),
            _ => false,
        };
        if !noted {
            return moment;
        }
        let enrolled = self.moments.get(&EntryNumber::FIRST).map(|enrolled| enrolled.span().last());
        let last = |module| self.told_until.get(module).copied().or(enrolled);
        let earliest = modules_of(entry).into_iter().filter_map(last).min();
        earliest.map_or(moment, |earliest| moment.noted_after(earliest))
    }

    /// The same with the entries told by their places in time.
    pub(super) fn by_place(&self, order: &TimeOrder) -> Self {
        let moments = self.moments.iter().map(|(entry, moment)| (order.place_of(*entry), *moment)).collect();
        Self { moments, last: self.last, disordered: true, told_until: BTreeMap::new() }
    }

    /// Whether the order in which the entries were filed is certainly the one in which they happened.
    pub(super) fn is_as_filed(&self) -> bool {
        !self.disordered
    }

    /// When an entry happened.
    pub(super) fn of(&self, entry: EntryNumber) -> Option<Moment> {
        self.moments.get(&entry).copied()
    }

    /// Whether one entry certainly happened before another.
    pub(super) fn is_before(&self, earlier: EntryNumber, later: EntryNumber) -> bool {
        if !self.disordered {
            return earlier < later;
        }
        self.of(earlier).zip(self.of(later)).is_some_and(|(earlier, later)| earlier.is_before(&later))
    }

    /// The entries by their moments. The enrolment comes first whatever its moment; of entries that cannot be ordered, the one that was
    /// filed first.
    pub(super) fn in_order(&self) -> Vec<EntryNumber> {
        let mut entries: Vec<EntryNumber> = self.moments.keys().copied().collect();
        entries.sort_by_key(|entry| (*entry != EntryNumber::FIRST, self.of(*entry).map(|moment| moment.sort_key())));
        entries
    }
}

/// The modules that an entry tells of.
fn modules_of(entry: &Entry) -> BTreeSet<&ModuleName> {
    let mut modules = BTreeSet::new();
    match &entry.body {
        Body::Reading(reading) => modules.extend(reading.covered.keys()),
        Body::Change(work) | Body::PutBack(_, work) => {
            for effects in [&work.effects, &work.late] {
                modules.extend(effects.records.iter().map(|effect| &effect.module));
                modules.extend(effects.stated.iter().map(|effect| &effect.module));
            }
        }
        _ => {}
    }
    modules
}
