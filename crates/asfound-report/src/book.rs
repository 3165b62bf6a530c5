//! A whole journal as it is printed in one book.

use std::collections::BTreeMap;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Body, Entry, PlainReason, PutBackOf};
use asfound_core::history::{Field, History, Origin, Transition};
use asfound_core::names::EntryNumber;
use time::OffsetDateTime;

use crate::language::{Language, Numbers};
use crate::life_line::{LifeLine, life_lines};
use crate::sheet::SealShown;
use crate::shown::shown;

/// What a book is made from.
#[derive(Debug, Clone)]
pub struct BookOrder<'a> {
    /// The whole journal, oldest entry first.
    pub entries: &'a [Entry],
    /// The definitions that explain its bytes.
    pub definitions: &'a DefinitionSet,
    /// The life of every field.
    pub history: &'a History,
    /// The seal over all entries.
    pub seal: SealShown,
    /// When it is printed.
    pub printed: OffsetDateTime,
    /// In which language.
    pub language: Language,
}

/// A whole journal.
#[derive(Debug, Clone)]
pub struct Book {
    pub(crate) language: Language,
    /// Tag, VIN, description.
    pub(crate) about: String,
    pub(crate) tag: String,
    pub(crate) printed: OffsetDateTime,
    pub(crate) seal: SealShown,
    /// Everything that ever changed.
    pub(crate) lines: Vec<LifeLine>,
    /// The entries, newest first.
    pub(crate) entries: Vec<BookEntry>,
    /// The first and the last moment.
    pub(crate) span: (OffsetDateTime, OffsetDateTime),
}

/// An entry of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct BookEntry {
    pub(crate) number: EntryNumber,
    pub(crate) at: OffsetDateTime,
    pub(crate) kind: String,
    pub(crate) by: String,
    pub(crate) why: String,
    pub(crate) never_made: bool,
    /// What it altered: which line, and the words.
    pub(crate) altered: Vec<(Option<usize>, String)>,
}

impl Book {
    /// How many life lines it has.
    pub fn lines(&self) -> usize {
        self.lines.len()
    }

    /// Makes a book of a journal; nothing of a journal without entries.
    pub fn of(order: BookOrder<'_>) -> Option<Self> {
        let (first, last) = (order.entries.first()?, order.entries.last()?);
        let Body::Enrolled(vehicle) = &first.body else { return None };
        let words = order.language.words();
        let mut about = vec![vehicle.tag.to_string()];
        about.extend(vehicle.vin.as_ref().map(|vin| format!("{} {vin}", words.vin)));
        about.extend(vehicle.about.as_deref().map(shown));
        let lines = life_lines(order.entries, order.history, order.definitions);
        let places: BTreeMap<&Field, usize> = lines.iter().enumerate().map(|(at, line)| (&line.field, at)).collect();
        let mut told: BTreeMap<EntryNumber, Vec<(&Field, &Transition)>> = BTreeMap::new();
        for (field, timeline) in order.history.timelines() {
            for step in timeline.transitions().iter().filter(|step| step.origin != Origin::FirstKnown) {
                told.entry(step.entry).or_default().push((field, step));
            }
        }
        let entry = |entry: &Entry| BookEntry {
            number: entry.number,
            at: entry.happened,
            kind: kind(entry, order.language),
            by: shown(entry.author.name()),
            why: why(entry, order.history, order.language),
            never_made: order.history.never_made(entry.number),
            altered: told
                .get(&entry.number)
                .into_iter()
                .flatten()
                .map(|(field, step)| (places.get(field).copied(), altered(field, step, order.language)))
                .collect(),
        };
        let moments = order.entries.iter().map(|entry| entry.happened);
        let span = (moments.clone().min().unwrap_or(first.happened), moments.max().unwrap_or(last.happened));
        Some(Self {
            language: order.language,
            about: about.join(" · "),
            tag: vehicle.tag.to_string(),
            printed: order.printed,
            seal: order.seal,
            entries: order.entries.iter().rev().map(entry).collect(),
            span,
            lines,
        })
    }
}

/// People's own words as they are, the program's own in the language of the book.
fn why(entry: &Entry, history: &History, language: Language) -> String {
    let words = history.corrected_words(entry.number).unwrap_or(&entry.why).as_str();
    language.reason(words, PlainReason::of(&entry.body, words).as_ref())
}

fn altered(field: &Field, step: &Transition, language: Language) -> String {
    let found = step.found.as_ref().map_or("?".to_owned(), |found| language.content(found));
    let words = language.words();
    let hand = match step.origin {
        Origin::AnotherHand(_) => format!(" ({})", words.another_hand),
        Origin::Contradicts(_) => format!(" ({})", words.contradiction),
        Origin::FirstKnown | Origin::Work => String::new(),
    };
    format!("{} {found} → {}{hand}", language.field(&field.to_string()), language.content(&step.left))
}

fn kind(entry: &Entry, language: Language) -> String {
    let words = language.words();
    let numbers = |entries: &[EntryNumber]| entries.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
    match &entry.body {
        Body::Reading(reading) => language.reading(reading.role).to_owned(),
        Body::PutBack(PutBackOf::Entries(entries), _) => format!("{}: {}", words.kind_put_back, numbers(entries)),
        Body::PutBack(PutBackOf::ReturnTo(to), _) => format!("{}: → {to}", words.kind_put_back),
        Body::Correction(correction) => format!("{}: {}", words.kind_correction, correction.corrects),
        Body::Note(Some(about)) => format!("{}: {about}", words.kind_note),
        body => language.kind(body.kind()).to_owned(),
    }
}
