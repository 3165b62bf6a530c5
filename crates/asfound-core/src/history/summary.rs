//! An entry in a line, and in a few.

use super::{Field, History, Origin, Transition};
use crate::difference::Content;
use crate::entry::{
    Body, BusLogBody, Correction, Entry, PutBackOf, ReadingBody, RecordEffect, StepOutcome, WireAnswer, WorkBody,
    altered,
};
use crate::names::EntryNumber;
use crate::value::{BitMask, BitRun};

/// How many alterations a headline names before it only counts.
const NAMED: usize = 2;
/// How many bytes of a record it shows.
const BYTES_SHOWN: usize = 8;

impl History {
    /// What an entry tells, in one line without its number.
    ///
    /// A change names what it altered; a reading says what it is and, where something differs
    /// that no entry accounts for, that another hand was there.
    pub fn headline(&self, entry: &Entry) -> String {
        let kind = entry.body.kind();
        match &entry.body {
            Body::Enrolled(vehicle) => format!("{kind}: {}", vehicle.tag),
            Body::Reading(reading) => self.reading_headline(entry, reading),
            Body::Change(work) => format!("{}: {}", work_kind(None), self.alterations(entry.number, work)),
            Body::PutBack(of, work) => format!("{}: {}", work_kind(Some(of)), self.alterations(entry.number, work)),
            Body::Correction(Correction { corrects, never_made: true, .. }) => {
                format!("{kind} of entry {corrects}: never made")
            }
            Body::Correction(Correction { corrects, .. }) => format!("{kind} of entry {corrects}"),
            Body::Note(Some(about)) => format!("{kind} on entry {about}: {}", first_line(entry.why.as_str())),
            Body::OrderOpened(terms) | Body::OrderExtended(terms) => {
                let mut list: Vec<String> = terms.authorised.iter().map(ToString::to_string).collect();
                list.extend(terms.put_right.iter().map(|one| format!("{} put right as {}", one.term, one.meant)));
                list.extend(terms.withdrawn.iter().map(|subject| format!("{subject} withdrawn")));
                format!("{kind} {}: {}", terms.number, few(list, "nothing to be altered"))
            }
            Body::OrderClosed(number) => format!("{kind} {number}"),
            Body::Witness(witness) => format!("{kind}: {}", witnessed(witness)),
            Body::Note(None) => format!("{kind}: {}", first_line(entry.why.as_str())),
        }
    }

    /// The headline of work that altered something, which follows from the history alone; nothing of any other entry.
    pub(crate) fn work_headline(&self, work: EntryNumber) -> Option<String> {
        let shown = self.alteration_lines(work);
        (!shown.is_empty()).then(|| format!("{}: {}", work_kind(self.put_back_of(work)), few(shown, "")))
    }

    /// The alterations of an entry in a few words.
    fn alterations(&self, entry: EntryNumber, work: &WorkBody) -> String {
        let shown: Vec<String> = self.alteration_lines(entry);
        if !shown.is_empty() {
            return few(shown, "");
        }
        if self.never_made(entry) {
            return format!(
                "{} (never made)",
                work.settings.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
            );
        }
        self.without_alterations(entry, work)
    }

    /// What is known of work of which no field tells.
    fn without_alterations(&self, entry: EntryNumber, work: &WorkBody) -> String {
        let effects = &work.effects.records;
        let blind = effects.iter().filter(|effect| effect.found.is_none());
        let mut parts: Vec<String> = blind.map(written_blind).collect();
        if self.only_declared_volatile.contains(&entry) {
            parts.push("nothing but a checksum or bits that change by themselves".to_owned());
        }
        let others = effects.iter().filter(|effect| effect.found.as_ref().is_some_and(|found| *found != effect.left));
        if parts.is_empty() {
            // The record is laid out otherwise than before, so that its bits cannot be held against each other.
            parts.extend(others.map(|effect| format!("bytes of {}:{}", effect.module, effect.record)));
        }
        let text = few(parts, "nothing known to be altered");
        match work.steps.iter().filter(|step| step.outcome == StepOutcome::InDoubt).count() {
            0 => text,
            count => format!("{text}; {} in doubt", counted(count, "step", "steps")),
        }
    }

    fn reading_headline(&self, entry: &Entry, reading: &ReadingBody) -> String {
        let records: usize = reading.covered.values().map(|covered| covered.records.len()).sum();
        let settings: usize = reading.covered.values().map(|covered| covered.settings.len()).sum();
        let mut text = format!("reading {}", reading.role);
        if reading.partial {
            text.push_str(" (partial)");
        }
        text.push_str(&format!(": {}", counted(reading.covered.len(), "module", "modules")));
        if records > 0 {
            text.push_str(&format!(", {}", counted(records, "record", "records")));
        }
        if settings > 0 {
            text.push_str(&format!(", {} by value", counted(settings, "setting", "settings")));
        }
        let count = |wanted: fn(&Field, Origin) -> bool| {
            self.transitions_of(entry.number).filter(|(field, step)| wanted(field, step.origin)).count()
        };
        let named = count(|field, origin| matches!((field, origin), (Field::Setting(_), Origin::AnotherHand(_))));
        let bits = count(|field, origin| matches!((field, origin), (Field::Undeclared { .. }, Origin::AnotherHand(_))));
        let against = count(|_, origin| matches!(origin, Origin::Contradicts(_)));
        let swapped = reading.effects.identities.iter().any(|effect| effect.found.differs_from(&effect.left));
        let hand = match (named, bits) {
            (0, 0) => None,
            (0, _) => Some("undeclared bits".to_owned()),
            (named, 0) => Some(counted(named, "setting", "settings")),
            (named, _) => Some(format!("{}, undeclared bits", counted(named, "setting", "settings"))),
        };
        if let Some(hand) = hand {
            text.push_str(&format!("; another hand: {hand}"));
        } else if swapped {
            text.push_str("; another hand: module identity");
        }
        let unclear =
            self.transitions_of(entry.number).filter(|(_, step)| matches!(step.origin, Origin::CannotTell(_)));
        let unclear = unclear.count();
        if unclear > 0 {
            text.push_str(&format!("; cannot tell: {}", counted(unclear, "field", "fields")));
        }
        if against > 0 {
            text.push_str(&format!("; contradicts {}", counted(against, "change", "changes")));
        }
        text
    }

    /// Each alteration that an entry tells of, as `setting found -> left` or `module:record byte 3 bit 2: 0 to 1`; what became
    /// known is left out.
    pub fn alteration_lines(&self, entry: EntryNumber) -> Vec<String> {
        self.transitions_of(entry)
            .filter(|(_, step)| step.origin != Origin::FirstKnown)
            .map(|(field, step)| line(field, step))
            .collect()
    }
}

fn work_kind(of: Option<&PutBackOf>) -> String {
    match of {
        None => "change".to_owned(),
        Some(PutBackOf::Entries(entries)) => format!("put-back of {}", numbers(entries)),
        Some(PutBackOf::ReturnTo(to)) => format!("put-back to entry {to}"),
    }
}

/// A record that was written without anybody knowing what was in it.
fn written_blind(effect: &RecordEffect) -> String {
    let bytes = BitMask::all(effect.left.len()).runs().into_iter().next().and_then(|all| {
        let shown = BitRun { length: all.length.min(8 * BYTES_SHOWN), ..all };
        Some(format!(" as {}{}", shown.of(effect.left.as_slice())?, if shown == all { "" } else { " …" }))
    });
    format!("{}:{} written{}, as found not known", effect.module, effect.record, bytes.unwrap_or_default())
}

/// The first of a list, and how many more there are.
fn few(mut list: Vec<String>, none: &str) -> String {
    let more = list.len().saturating_sub(NAMED);
    list.truncate(NAMED);
    match (list.is_empty(), more) {
        (true, _) => none.to_owned(),
        (false, 0) => list.join(", "),
        (false, more) => format!("{} and {more} more", list.join(", ")),
    }
}

fn line(field: &Field, step: &Transition) -> String {
    if let Field::Undeclared { .. } = field {
        return field.altered(step.found.as_ref(), Some(&step.left));
    }
    let found = step.found.as_ref().map_or_else(|| "?".to_owned(), Content::to_string);
    format!("{field} {found} -> {}", step.left)
}

fn numbers(entries: &[EntryNumber]) -> String {
    let list: Vec<String> = entries.iter().map(ToString::to_string).collect();
    if list.len() == 1 { format!("entry {}", list[0]) } else { format!("entries {}", list.join(", ")) }
}

fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

/// What a bus log showed, in a few words.
fn witnessed(witness: &BusLogBody) -> String {
    let logs: Vec<String> = witness.logs.iter().map(|log| log.name.clone()).collect();
    let mut text = format!("{}, {}", few(logs, "no log"), counted(witness.writes.len(), "write", "writes"));
    let by_another = |place: &usize| {
        let write = &witness.writes[*place];
        let unaccounted = write.entry.is_none() && !write.own && write.answer == WireAnswer::Accepted;
        // What was there already was altered by nobody.
        unaccounted && altered(&witness.writes, *place) != Some(false)
    };
    let hands = (0..witness.writes.len()).filter(by_another).count();
    if hands > 0 {
        text.push_str(&format!(", {hands} by another hand"));
    }
    text
}

fn first_line(text: &str) -> &str {
    text.lines().next().unwrap_or_default()
}
