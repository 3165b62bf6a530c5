//! What the entries between the two moments tell beside the changes themselves.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use asfound_core::difference::Content;
use asfound_core::entry::{Body, Correction, Entry, PlainReason, ReadingRole};
use asfound_core::history::{Field, History, Origin, Transition};
use asfound_core::names::EntryNumber;
use asfound_core::safety::SafetyTag;
use asfound_core::work_order::{LineGroup, OrderOutcome, OutcomeSubject};
use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};
use time::OffsetDateTime;

use super::{SharedText, SharedTexts};

/// One alteration that an entry tells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AlterationShown<'h> {
    /// The setting, or bits without a name.
    pub field: &'h Field,
    /// What was altered.
    pub step: &'h Transition,
}

/// In JSON, the field as the journal writes it, and what it held as found and as left.
impl Serialize for AlterationShown<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_struct("Altered", 3)?;
        map.serialize_field("field", &self.field.to_string())?;
        map.serialize_field("found", &self.step.found.as_ref().map(Content::to_string))?;
        map.serialize_field("left", &self.step.left.to_string())?;
        map.end()
    }
}

/// One entry of work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WorkShown<'h> {
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
    pub by: SharedText,
    /// Why.
    pub why: SharedText,
    /// The same, where nobody gave a reason and it is the program's own.
    #[serde(skip)]
    pub plain_why: Option<Box<PlainReason>>,
    /// What it altered.
    pub altered: Box<[AlterationShown<'h>]>,
    /// Whether a later entry says that it was never made.
    pub never_made: bool,
}

/// An acknowledgement of a restricted system.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AcknowledgementShown {
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
pub struct NoteShown {
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
pub struct NotDone {
    /// The entry that tells of it; nothing where it was authorised and no entry tells of it.
    pub entry: Option<EntryNumber>,
    /// The setting, the record or the module.
    pub what: String,
    /// What the definition calls it.
    pub label: Option<String>,
    /// The value or the bytes that were authorised; nothing where a step was planned, and for a module.
    pub value: Option<String>,
    /// What became of it, where a step was begun: `not-made`, `in-doubt`, `read-back-otherwise`.
    pub outcome: Option<asfound_core::entry::StepOutcome>,
}

/// A correction, beside what it corrects.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CorrectionShown {
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
pub struct SignatureShown {
    /// The entry.
    pub entry: EntryNumber,
    /// When it was filed.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// Whose name stands under it.
    pub name: SharedText,
    /// In what meaning: `made`, `read`, `stated` or `released`.
    pub meaning: &'static str,
    /// What the signature is worth.
    pub standing: SignatureWorth,
    /// The name by which the key is trusted, where that is not the author's.
    pub signer: Option<SharedText>,
    /// The key, where there is one.
    pub key: Option<SharedText>,
}

/// What a signature is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SignatureWorth {
    /// It holds, and its key is trusted as the author's.
    Good,
    /// It holds, and its key is trusted as another person's.
    ForAnother,
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

/// What the entries tell beside the changes themselves, taken in one after the other.
pub(super) struct AppendixBuilder<'h> {
    history: &'h History,
    between: RangeInclusive<EntryNumber>,
    texts: SharedTexts,
    /// The words of entries that are corrected, as they stood.
    originals: BTreeMap<EntryNumber, String>,
    pub(super) work: Vec<WorkShown<'h>>,
    pub(super) acknowledgements: Vec<AcknowledgementShown>,
    pub(super) noticed: Vec<NoteShown>,
    pub(super) undone: Vec<NotDone>,
    pub(super) amendments: Vec<CorrectionShown>,
}

impl<'h> AppendixBuilder<'h> {
    pub(super) fn new(history: &'h History, between: RangeInclusive<EntryNumber>) -> Self {
        let (texts, originals) = (SharedTexts::default(), BTreeMap::new());
        let (work, acknowledgements, noticed) = (Vec::new(), Vec::new(), Vec::new());
        let (undone, amendments) = (Vec::new(), Vec::new());
        Self { history, between, texts, originals, work, acknowledgements, noticed, undone, amendments }
    }

    /// Takes in the next entry.
    pub(super) fn push(&mut self, entry: &Entry) {
        let number = entry.number;
        if !self.history.corrections_of(number).is_empty() {
            self.originals.insert(number, entry.why.as_str().to_owned());
        }
        if let Body::Correction(correction) = &entry.body {
            // Corrections, wherever they stand, of an entry that the sheet shows.
            if self.between.contains(&correction.corrects) {
                self.amend(entry, correction);
            }
        } else if self.between.contains(&number) {
            let words = self.history.corrected_words(number).unwrap_or(&entry.why).as_str();
            match &entry.body {
                Body::Note(_) => self.noticed.push(NoteShown {
                    entry: number,
                    at: entry.happened,
                    by: entry.author.name().to_owned(),
                    words: words.to_owned(),
                }),
                _ => self.line(entry, words),
            }
        }
    }

    fn line(&mut self, entry: &Entry, words: &str) {
        let number = entry.number;
        let reading = match &entry.body {
            Body::Reading(reading) => Some(reading),
            _ => None,
        };
        let by = reading.and_then(|reading| reading.by.as_deref()).unwrap_or(entry.author.name());
        let steps = self.history.transitions_of(number).filter(|(_, step)| step.origin != Origin::FirstKnown);
        self.work.push(WorkShown {
            entry: number,
            kind: entry.body.kind(),
            role: reading.map(|reading| reading.role),
            at: entry.happened,
            by: self.texts.of(by),
            why: self.texts.of(words),
            plain_why: PlainReason::of(&entry.body, words).map(Box::new),
            altered: steps.map(|(field, step)| AlterationShown { field, step }).collect(),
            never_made: self.history.never_made(number),
        });
        let Some(work) = entry.body.work() else { return };
        self.acknowledgements.extend(work.acknowledgements.iter().map(|given| AcknowledgementShown {
            entry: number,
            system: given.tag,
            name: given.name.clone(),
            grounds: given.grounds.clone(),
        }));
        self.undone.extend(work.steps.iter().filter(|step| !step.outcome.is_made()).map(|step| {
            let what = match (&step.record, &step.setting) {
                (_, Some(setting)) => format!("{}.{setting}", step.module),
                (Some(record), None) => format!("{}:{record}", step.module),
                (None, None) => step.module.to_string(),
            };
            NotDone { entry: Some(number), what, label: None, value: None, outcome: Some(step.outcome) }
        }));
    }

    fn amend(&mut self, entry: &Entry, Correction { corrects, never_made, words, .. }: &Correction) {
        self.amendments.push(CorrectionShown {
            entry: entry.number,
            corrects: *corrects,
            at: entry.recorded,
            by: entry.author.name().to_owned(),
            never_made: *never_made,
            original: self.originals.get(corrects).cloned().unwrap_or_default(),
            words: words.as_ref().map(|words| words.as_str().to_owned()),
            why: entry.why.as_str().to_owned(),
        });
    }
}

/// What a work order authorised and what is not so in the end.
pub(super) fn not_done(outcome: &OrderOutcome) -> Vec<NotDone> {
    let lines = outcome.of(LineGroup::NotDone);
    lines
        .map(|line| match &line.what {
            OutcomeSubject::Unit(module) => {
                NotDone { entry: None, what: module.to_string(), label: None, value: None, outcome: None }
            }
            what => NotDone {
                entry: None,
                what: what.to_string(),
                label: None,
                value: line.authorised.clone(),
                outcome: None,
            },
        })
        .collect()
}
