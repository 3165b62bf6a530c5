//! Draws entries up one after the other, each on what the ones before leave.

use std::collections::BTreeSet;

use asfound_core::definition::Definition;
use asfound_core::difference::Content;
use asfound_core::entry::{
    Body, Effects, Entry, Precision, ReadingRole, RecordEffect, WireAnswer, WireWrite, WorkBody,
};
use asfound_core::names::{EntryNumber, SettingPath};
use asfound_core::plan::restricted_systems;
use asfound_core::reading::{MissingItem, ReadingRemark};
use asfound_core::safety::SafetyTag;
use asfound_core::state::State;
use asfound_core::value::HexBytes;
use time::OffsetDateTime;

use super::at_hand::{AtHand, FoundAgain};
use super::draw_up::{Asked, DrawnEntry, LeftOut, WitnessError};
use super::readings::{Later, Side, Source, examined};
use super::told::WriteTold;

/// Entries that are being drawn up.
pub(super) struct Drawing<'a> {
    pub(super) asked: Asked<'a>,
    pub(super) state: State,
    pub(super) entries: Vec<DrawnEntry>,
    pub(super) left_out: Vec<LeftOut>,
    pub(super) restricted: BTreeSet<SafetyTag>,
}

impl Drawing<'_> {
    /// Adds an entry, and moves the state on by it.
    pub(super) fn entry(
        &mut self,
        at: Option<OffsetDateTime>,
        body: Body,
        remarks: Vec<ReadingRemark>,
        missing: Vec<MissingItem>,
    ) -> Option<EntryNumber> {
        let terms = self.asked.terms;
        let number = self.state.last.map_or(Some(EntryNumber::FIRST), EntryNumber::next)?;
        // Entries keep whole seconds.
        let happened = at.unwrap_or(terms.now).to_offset(terms.now.offset()).truncate_to_second();
        let (recorded, author, why) = (terms.now, terms.author.clone(), terms.why.clone());
        let entry = Entry { number, recorded, happened, precision: Precision::Second, author, why, body };
        // What was worked out from the state follows from it.
        self.state.apply(&entry).ok()?;
        self.entries.push(DrawnEntry { number, happened, body: entry.body, remarks, missing });
        Some(number)
    }

    /// Notes what is not taken over: of one record once.
    fn left_out(&mut self, one: LeftOut) {
        let place = |one: &LeftOut| match one {
            LeftOut::Later { module, record, .. } | LeftOut::Length { module, record, .. } => {
                (module.clone(), record.clone())
            }
        };
        if !self.left_out.iter().any(|other| place(other) == place(&one)) {
            self.left_out.push(one);
        }
    }

    /// Adds the reading of one side; nothing where the logs have none.
    pub(super) fn reading(
        &mut self,
        source: &Source<'_>,
        (side, role): (Side, ReadingRole),
        found: &FoundAgain,
    ) -> Result<Option<EntryNumber>, WitnessError> {
        let mut left_out = Vec::new();
        let taken = source.taken(side, &self.state, &mut left_out);
        // What work that is found again in the logs tells of later is what the logs tell themselves.
        let told_by_the_logs = |one: &LeftOut| match one {
            LeftOut::Later { module, record, entry } => found.contains_key(&(*entry, module.clone(), record.clone())),
            LeftOut::Length { .. } => false,
        };
        left_out.into_iter().filter(|one| !told_by_the_logs(one)).for_each(|one| self.left_out(one));
        let Some(taken) = taken else { return Ok(None) };
        let examined = examined(&taken, role, &self.state, self.asked.definitions, self.asked.terms.now)
            .map_err(WitnessError::Reading)?;
        Ok(self.entry(taken.at, Body::Reading(examined.body), examined.remarks, examined.missing))
    }

    /// Goes through the writes: which of them altered something that the journal does not know. Where they are claimed,
    /// they become changes; one change holds what was written until a record is written again.
    pub(super) fn changes(&mut self, told: &[WriteTold], writes: &mut [WireWrite], at_hand: &AtHand<'_>) -> Vec<usize> {
        let mut open = Vec::new();
        let mut change: Vec<usize> = Vec::new();
        for (place, told) in told.iter().enumerate() {
            let write = &told.write;
            if !is_unknown(write) {
                continue;
            }
            let seen = (told.number, write.at);
            if let Some(entry) = at_hand.entry(&write.module, Some(&write.record), seen) {
                let later = at_hand.entries.iter().find(|one| one.number == entry);
                let shows = later.filter(|one| matches!(one.body, Body::Reading(_)));
                writes[place].shown_by = shows.map(|one| one.number);
                if shows.is_none() {
                    let (module, record) = (write.module.clone(), write.record.clone());
                    let left_out = LeftOut::Later { module, record, entry };
                    self.left_out(left_out);
                }
                continue;
            }
            // Where it was not read before, the journal says whether it altered anything.
            let known = self.state.record(&write.module, &write.record).map(|known| &known.bytes);
            if write.found.is_none() && known == write.written.as_ref() {
                continue;
            }
            open.push(place);
            if !self.asked.terms.claimed {
                continue;
            }
            if change.iter().any(|other| same_record(&writes[*other], write)) {
                self.change(&std::mem::take(&mut change), writes);
            }
            change.push(place);
        }
        self.change(&change, writes);
        open
    }

    fn change(&mut self, places: &[usize], writes: &mut [WireWrite]) {
        let Some(first) = places.first() else { return };
        let terms = self.asked.terms;
        let mut work = WorkBody::default();
        let mut settings: BTreeSet<SettingPath> = BTreeSet::new();
        let mut restricted = BTreeSet::new();
        for place in places {
            let write = &writes[*place];
            let Some(left) = write.written.clone() else { continue };
            let (module, record) = (&write.module, &write.record);
            let found = self.state.record(module, record).map(|known| known.bytes.clone());
            if found.as_ref() == Some(&left) {
                continue;
            }
            let identity = self.state.identity(module);
            let definition = self.asked.definitions.fitting(module, &identity).ok().flatten();
            for setting in definition.into_iter().flat_map(|definition| definition.settings_in(record)) {
                let Some(id) = definition.map(Definition::id) else { continue };
                let content = |bytes: &HexBytes| Content::decoded(setting, id, bytes.as_slice());
                let same = found.as_ref().and_then(content).zip(content(&left)).is_some_and(|(a, b)| a.same(&b));
                if !same {
                    settings.insert(setting.path().clone());
                }
            }
            restricted.extend(restricted_systems(module, definition, record, found.as_ref(), &left));
            work.one_way |= found.is_none();
            work.effects.records.push(RecordEffect { module: module.clone(), record: record.clone(), found, left });
        }
        if work.effects == Effects::default() {
            return;
        }
        work.effects.records.sort_by(|a, b| (&a.module, &a.record).cmp(&(&b.module, &b.record)));
        work.settings = settings.into_iter().collect();
        let given = terms.acknowledgements.iter().filter(|given| restricted.contains(&given.tag));
        work.acknowledgements = given.cloned().collect();
        self.restricted.extend(restricted);
        let number = self.entry(writes[*first].at, Body::Change(work), Vec::new(), Vec::new());
        for place in places {
            writes[*place].entry = number;
        }
    }
}

/// Whether both are of the same record.
pub(super) fn same_record(a: &WireWrite, b: &WireWrite) -> bool {
    (&a.module, &a.record) == (&b.module, &b.record)
}

/// Whether a write was made, as far as the logs tell, with bytes that are known, and no entry recorded it.
fn is_unknown(write: &WireWrite) -> bool {
    let made = match write.answer {
        WireAnswer::Accepted => true,
        WireAnswer::None => write.read_back_agrees() == Some(true),
        WireAnswer::Refused => false,
    };
    made && write.entry.is_none() && write.written.is_some() && write.found != write.written
}
