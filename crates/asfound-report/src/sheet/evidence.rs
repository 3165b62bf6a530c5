//! What the entries between the two moments tell beside the changes themselves.

use asfound_core::entry::{Body, Correction, Entry, PlainReason, ReadingRole};
use asfound_core::history::{History, Origin};
use asfound_core::names::EntryNumber;
use asfound_core::order::{Group, Outcome, What};
use asfound_core::safety::SafetyTag;
use serde::Serialize;
use time::OffsetDateTime;

use super::Held;

/// One alteration that an entry tells of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Altered {
    /// The setting, or bits without a name, as the journal writes them.
    pub field: String,
    /// As found.
    pub found: Option<Held>,
    /// As left.
    pub left: Held,
}

/// One entry of work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LineOfWork {
    /// The entry.
    pub entry: EntryNumber,
    /// `change`, `put-back`, `reading` and so on.
    pub kind: &'static str,
    /// Why it was taken, where it is a reading.
    pub role: Option<ReadingRole>,
    /// When it was done.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// By whom.
    pub by: String,
    /// Why.
    pub why: String,
    /// The same, where nobody gave a reason and it is the program's own.
    #[serde(skip)]
    pub plain_why: Option<PlainReason>,
    /// What it altered.
    pub altered: Vec<Altered>,
    /// Whether a later entry says that it was never made.
    pub never_made: bool,
}

/// An acknowledgement of a restricted system.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Acknowledged {
    /// The entry.
    pub entry: EntryNumber,
    /// The kind of system.
    pub system: SafetyTag,
    /// By whom.
    pub name: String,
    /// On what grounds.
    pub grounds: String,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Noticed {
    /// The entry.
    pub entry: EntryNumber,
    /// When.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// By whom.
    pub by: String,
    /// What.
    pub words: String,
}

/// Something that was planned or authorised and not done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Undone {
    /// The entry that tells of it; nothing where it was authorised and no entry tells of it.
    pub entry: Option<EntryNumber>,
    /// The setting, the record or the module.
    pub what: String,
    /// The value or the bytes that were authorised; nothing where a step was planned, and for a module.
    pub value: Option<String>,
    /// What became of it, where a step was begun: `not-made`, `in-doubt`, `read-back-otherwise`.
    pub outcome: Option<asfound_core::entry::StepOutcome>,
}

/// A correction, beside what it corrects.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Amendment {
    /// The entry that corrects.
    pub entry: EntryNumber,
    /// The entry that is corrected.
    pub corrects: EntryNumber,
    /// When.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// By whom.
    pub by: String,
    /// Whether the work was never made.
    pub never_made: bool,
    /// The words as they stood.
    pub original: String,
    /// The words as they should have been, where they were wrong.
    pub words: Option<String>,
    /// Why it was corrected.
    pub why: String,
}

/// What the signature of an entry is worth.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Signature {
    /// The entry.
    pub entry: EntryNumber,
    /// When it was filed.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// Whose name stands under it.
    pub name: String,
    /// In what meaning: `made`, `read`, `stated` or `released`.
    pub meaning: &'static str,
    /// What the signature is worth.
    pub standing: Standing,
    /// The key, where there is one.
    pub key: Option<String>,
}

/// What a signature is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// It holds, and its key is trusted.
    Good,
    /// It holds; nothing says whose key that is.
    Unknown,
    /// It does not hold.
    Bad,
    /// The entry bears a name and no signature by key.
    Unsigned,
}

/// The seal of the journal when the sheet was printed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SealShown {
    /// How many entries it is over.
    pub entries: u64,
    /// In full.
    pub full: String,
    /// In the form that is made to be read out and typed.
    pub short: String,
}

pub(super) fn work(entries: &[&Entry], history: &History) -> Vec<LineOfWork> {
    let lines = entries.iter().filter(|entry| !matches!(entry.body, Body::Note(_) | Body::Correction(_)));
    lines
        .map(|entry| LineOfWork {
            entry: entry.number,
            kind: entry.body.kind(),
            role: match &entry.body {
                Body::Reading(reading) => Some(reading.role),
                _ => None,
            },
            at: entry.happened,
            by: match &entry.body {
                Body::Reading(reading) => reading.by.clone().unwrap_or_else(|| entry.author.name().to_owned()),
                _ => entry.author.name().to_owned(),
            },
            why: history.corrected_words(entry.number).unwrap_or(&entry.why).as_str().to_owned(),
            plain_why: PlainReason::of(
                &entry.body,
                history.corrected_words(entry.number).unwrap_or(&entry.why).as_str(),
            ),
            altered: altered(history, entry.number),
            never_made: history.never_made(entry.number),
        })
        .collect()
}

fn altered(history: &History, entry: EntryNumber) -> Vec<Altered> {
    let steps = history.transitions_of(entry).filter(|(_, step)| step.origin != Origin::FirstKnown);
    steps
        .map(|(field, step)| Altered {
            field: field.to_string(),
            found: step.found.clone().map(Held),
            left: Held(step.left.clone()),
        })
        .collect()
}

pub(super) fn acknowledgements(entries: &[&Entry]) -> Vec<Acknowledged> {
    let all = entries.iter().filter_map(|entry| Some((entry.number, entry.body.work()?)));
    all.flat_map(|(entry, work)| {
        work.acknowledgements.iter().map(move |given| Acknowledged {
            entry,
            system: given.tag,
            name: given.name.clone(),
            grounds: given.grounds.clone(),
        })
    })
    .collect()
}

pub(super) fn noticed(entries: &[&Entry], history: &History) -> Vec<Noticed> {
    let notes = entries.iter().filter(|entry| matches!(entry.body, Body::Note(_)));
    notes
        .map(|entry| Noticed {
            entry: entry.number,
            at: entry.happened,
            by: entry.author.name().to_owned(),
            words: history.corrected_words(entry.number).unwrap_or(&entry.why).as_str().to_owned(),
        })
        .collect()
}

pub(super) fn undone(entries: &[&Entry]) -> Vec<Undone> {
    let steps = entries.iter().filter_map(|entry| Some((entry.number, entry.body.work()?)));
    steps
        .flat_map(|(entry, work)| work.steps.iter().map(move |step| (entry, step)))
        .filter(|(_, step)| !step.outcome.is_made())
        .map(|(entry, step)| {
            let what = match (&step.record, &step.setting) {
                (_, Some(setting)) => format!("{}.{setting}", step.module),
                (Some(record), None) => format!("{}:{record}", step.module),
                (None, None) => step.module.to_string(),
            };
            Undone { entry: Some(entry), what, value: None, outcome: Some(step.outcome) }
        })
        .collect()
}

/// What a work order authorised and what is not so in the end.
pub(super) fn not_done(outcome: &Outcome) -> Vec<Undone> {
    let lines = outcome.of(Group::NotDone);
    lines
        .map(|line| match &line.what {
            What::Unit(module) => Undone { entry: None, what: module.to_string(), value: None, outcome: None },
            what => Undone { entry: None, what: what.to_string(), value: line.authorised.clone(), outcome: None },
        })
        .collect()
}

/// Corrections, wherever they stand, of an entry that the sheet shows.
pub(super) fn amendments(all: &[Entry], shown: impl Fn(EntryNumber) -> bool) -> Vec<Amendment> {
    let corrections = all.iter().filter_map(|entry| match &entry.body {
        Body::Correction(correction) if shown(correction.corrects) => Some((entry, correction)),
        _ => None,
    });
    corrections
        .map(|(entry, Correction { corrects, never_made, words, .. })| Amendment {
            entry: entry.number,
            corrects: *corrects,
            at: entry.recorded,
            by: entry.author.name().to_owned(),
            never_made: *never_made,
            original: all
                .iter()
                .find(|one| one.number == *corrects)
                .map(|one| one.why.as_str().to_owned())
                .unwrap_or_default(),
            words: words.as_ref().map(|words| words.as_str().to_owned()),
            why: entry.why.as_str().to_owned(),
        })
        .collect()
}
