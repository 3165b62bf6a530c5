//! Draws entries up one after the other, each on what the ones before leave.

use std::collections::BTreeSet;

use asfound_core::definition::Definition;
use asfound_core::difference::Content;
use asfound_core::entry::{Body, Effects, Entry, ReadingRole, RecordEffect, WireAnswer, WireWrite, WorkBody};
use asfound_core::examination::{MissingItem, ReadingRemark};
use asfound_core::moment::Precision;
use asfound_core::names::{EntryNumber, SettingPath};
use asfound_core::plan::restricted_systems;
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::safety::SafetyTag;
use asfound_core::state::State;
use asfound_core::value::HexBytes;
use time::OffsetDateTime;

use super::draw_up::{DraftEntry, LeftOut, LogDraftError, LogRequest};
use super::journal_after::{FoundAgain, JournalAfter};
use super::logged::{LoggedRead, LoggedWrite};
use super::readings::{LaterEntry, ReadingSource, TimedReading, WhichReading, examined};

/// Entries that are being drawn up.
pub(super) struct DraftBuilder<'a> {
    pub(super) asked: LogRequest<'a>,
    pub(super) state: State,
    pub(super) entries: Vec<DraftEntry>,
    pub(super) left_out: Vec<LeftOut>,
    pub(super) restricted: BTreeSet<SafetyTag>,
}

impl DraftBuilder<'_> {
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
        self.entries.push(DraftEntry { number, happened, body: entry.body, remarks, missing });
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
        source: &ReadingSource<'_>,
        (side, role): (WhichReading, ReadingRole),
        found: &FoundAgain,
    ) -> Result<Option<EntryNumber>, LogDraftError> {
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
            .map_err(LogDraftError::Reading)?;
        Ok(self.entry(taken.at, Body::Reading(examined.body), examined.remarks, examined.missing))
    }

    /// Goes through the writes: which of them altered something that the journal does not know. Those that are `claimed` become
    /// changes; one change holds what was written until a record is written again. Gives the others.
    pub(super) fn changes(
        &mut self,
        told: &[LoggedWrite],
        writes: &mut [WireWrite],
        at_hand: &JournalAfter<'_>,
        claimed: &BTreeSet<usize>,
    ) -> Result<Vec<usize>, LogDraftError> {
        let mut open = Vec::new();
        let mut change: Vec<usize> = Vec::new();
        for (place, told) in told.iter().enumerate() {
            let write = &told.write;
            if writes[place].entry.is_some() || !asks_whose(told) {
                continue;
            }
            let is_claimed = claimed.contains(&place);
            let seen = (told.number, write.at);
            if let Some(entry) = at_hand.entry(&write.module, Some(&write.record), seen) {
                let later = at_hand.entries.iter().find(|one| one.number == entry);
                let shows = later.filter(|one| matches!(one.body, Body::Reading(_)));
                writes[place].shown_by = shows.map(|one| one.number);
                if shows.is_none() || is_claimed {
                    let (module, record) = (write.module.clone(), write.record.clone());
                    self.left_out(LeftOut::Later { module, record, entry });
                }
                writes[place].own = is_claimed;
                if !is_claimed {
                    open.push(place);
                }
                continue;
            }
            // Where it was not read before, the journal says whether it altered anything.
            let known = self.state.record(&write.module, &write.record).map(|known| &known.bytes);
            if told.before.is_none() && known.is_some() && known == content(write) {
                continue;
            }
            if !is_claimed {
                open.push(place);
                continue;
            }
            if change.iter().any(|other| writes[*other].same_record(write)) {
                self.change(&std::mem::take(&mut change), writes);
            }
            if self.differs_from(told) {
                self.change(&std::mem::take(&mut change), writes);
                self.read_between(told)?;
            }
            change.push(place);
        }
        self.change(&change, writes);
        Ok(open)
    }

    /// Whether the record held something else before a write than what the journal has of it by now.
    fn differs_from(&self, told: &LoggedWrite) -> bool {
        let known = self.state.record(&told.write.module, &told.write.record).map(|known| &known.bytes);
        // What has another length is not taken over into readings either.
        known.zip(told.before.as_ref()).is_some_and(|(known, before)| known.len() == before.len() && known != before)
    }

    /// Files what was read before a write, where it is something else than what own work left: what somebody else wrote in
    /// between does not become part of the change.
    fn read_between(&mut self, told: &LoggedWrite) -> Result<(), LogDraftError> {
        let (module, record) = (told.write.module.clone(), told.write.record.clone());
        let (Some(LoggedRead(at)), Some(before)) = (told.read_before, told.before.clone()) else {
            return Err(LogDraftError::Between { module, record });
        };
        let mut reading = Reading { tool: self.asked.terms.tool.clone(), ..Reading::default() };
        let read = ModuleReading { records: [(record, before)].into(), ..ModuleReading::default() };
        reading.modules.insert(module, read);
        let examined = examined(
            &TimedReading { reading, at },
            ReadingRole::Check,
            &self.state,
            self.asked.definitions,
            self.asked.terms.now,
        )
        .map_err(LogDraftError::Reading)?;
        self.entry(at, Body::Reading(examined.body), examined.remarks, examined.missing);
        Ok(())
    }

    fn change(&mut self, places: &[usize], writes: &mut [WireWrite]) {
        let Some(first) = places.first() else { return };
        let terms = self.asked.terms;
        let mut work = WorkBody::default();
        let mut settings: BTreeSet<SettingPath> = BTreeSet::new();
        let mut restricted = BTreeSet::new();
        for place in places {
            let write = &writes[*place];
            let Some(left) = content(write).cloned() else { continue };
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
            // Nothing is there that could be filed: the bytes are not known, or the journal has them.
            places.iter().for_each(|place| writes[*place].own = true);
            return;
        }
        work.effects.records.sort_by(|a, b| (&a.module, &a.record).cmp(&(&b.module, &b.record)));
        work.settings = settings.into_iter().collect();
        let given = terms.acknowledgements.iter().filter(|given| restricted.contains(&given.tag));
        work.acknowledgements = given.cloned().collect();
        self.restricted.extend(restricted);
        let number = self.entry(writes[*first].at, Body::Change(work), Vec::new(), Vec::new());
        for place in places {
            let is_in = |effect: &RecordEffect| {
                (&effect.module, &effect.record) == (&writes[*place].module, &writes[*place].record)
            };
            let filed = self.entries.last().and_then(|entry| entry.body.effects());
            if filed.is_some_and(|effects| effects.records.iter().any(is_in)) {
                writes[*place].entry = number;
            } else {
                writes[*place].own = true;
            }
        }
    }
}

/// What a write left as far as the logs tell: what was written, or what was read after it.
fn content(write: &WireWrite) -> Option<&HexBytes> {
    match write.answer {
        WireAnswer::Accepted => write.written.as_ref().or(write.read_back.as_ref()),
        // Without an answer, only what was read tells that it was written.
        WireAnswer::None => write.read_back.as_ref(),
        WireAnswer::Refused => None,
    }
}

/// Whether a write may have altered something, so that somebody has to say whose it was.
fn asks_whose(told: &LoggedWrite) -> bool {
    match (told.write.answer, told.altered) {
        (WireAnswer::Refused, _) => false,
        (WireAnswer::Accepted, altered) => altered != Some(false),
        (WireAnswer::None, Some(altered)) => altered,
        (WireAnswer::None, None) => told.before.is_none() && told.write.read_back_agrees() == Some(true),
    }
}

/// Gives each write that repeats the one before it to the entry that this one belongs to: the same bytes again, by the same tester.
pub(super) fn repeats(told: &[LoggedWrite], writes: &mut [WireWrite]) {
    for place in 0..writes.len() {
        let write = &writes[place];
        if write.entry.is_some() || write.own || write.answer != WireAnswer::Accepted || write.left().is_none() {
            continue;
        }
        let made = |other: &&WireWrite| other.same_record(write) && other.answer != WireAnswer::Refused;
        let Some(earlier) = writes[..place].iter().rev().find(made) else { continue };
        let same = earlier.written.as_ref().or_else(|| earlier.left()) == write.left();
        // A first try without an answer and a second one are one alteration.
        let tried_again = earlier.answer == WireAnswer::None && earlier.read_back.is_none();
        if same && earlier.tester == write.tester && (told[place].altered == Some(false) || tried_again) {
            let (entry, own) = (earlier.entry, earlier.own);
            (writes[place].entry, writes[place].own) = (entry, own);
        }
    }
}
