//! A whole journal as it is printed in one book.

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Body, Entry, PlainReason, PutBackOf, Vehicle};
use asfound_core::history::{Field, History, Origin, Transition};
use asfound_core::names::EntryNumber;
use time::OffsetDateTime;

use crate::book_facts::facts;
use crate::language::{Language, Numbers};
use crate::life_line::{LifeLine, ever_changed, life_line};
use crate::sheet::{SealShown, SharedText, SharedTexts};
use crate::shown::shown;

/// What a book is made from, beside the entries.
#[derive(Debug, Clone)]
pub struct BookRequest<'a> {
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

/// A book that is being made, from one entry after the other, so that they need not all be at hand.
#[derive(Debug)]
pub struct BookBuilder<'a> {
    order: BookRequest<'a>,
    /// The vehicle, as the first entry enrolled it.
    vehicle: Option<Vehicle>,
    texts: SharedTexts,
    entries: Vec<BookEntry>,
}

/// A whole journal. What is drawn and told of each field and each entry is worked out when it is printed: of a long journal it
/// would take much room.
#[derive(Debug)]
pub struct Book<'a> {
    pub(crate) language: Language,
    /// Tag, VIN, description.
    pub(crate) about: String,
    pub(crate) tag: String,
    pub(crate) printed: OffsetDateTime,
    pub(crate) seal: SealShown,
    /// The entries, oldest first.
    pub(crate) entries: Vec<BookEntry>,
    /// The first and the last moment.
    pub(crate) span: (OffsetDateTime, OffsetDateTime),
    definitions: &'a DefinitionSet,
    history: &'a History,
    /// Everything that ever changed, in order.
    changed: Vec<&'a Field>,
}

/// An entry of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct BookEntry {
    pub(crate) number: EntryNumber,
    pub(crate) at: OffsetDateTime,
    pub(crate) kind: SharedText,
    pub(crate) by: SharedText,
    pub(crate) why: SharedText,
    /// What it tells beside what it altered.
    pub(crate) facts: Box<[String]>,
}

impl<'a> BookBuilder<'a> {
    /// Before the first entry.
    pub fn begin(order: BookRequest<'a>) -> Self {
        Self { order, vehicle: None, texts: SharedTexts::default(), entries: Vec::new() }
    }

    /// Takes in the next entry.
    pub fn push(&mut self, entry: &Entry) {
        if let (Body::Enrolled(vehicle), true) = (&entry.body, self.entries.is_empty()) {
            self.vehicle = Some(vehicle.clone());
        }
        let language = self.order.language;
        self.entries.push(BookEntry {
            number: entry.number,
            at: entry.happened,
            kind: self.texts.of(&kind(entry, language)),
            by: self.texts.of(&shown(entry.author.name())),
            why: self.texts.of(&why(entry, self.order.history, language)),
            facts: facts(entry, language).into_boxed_slice(),
        });
    }

    /// The book, when all entries were taken in; nothing where they do not begin with the vehicle's enrolment.
    pub fn finish(self) -> Option<Book<'a>> {
        let Self { order, vehicle, entries, .. } = self;
        let vehicle = vehicle?;
        let words = order.language.words();
        let mut about = vec![vehicle.tag.to_string()];
        about.extend(vehicle.vin.as_ref().map(|vin| format!("{} {vin}", words.vin)));
        about.extend(vehicle.about.as_deref().map(shown));
        let moments = entries.iter().map(|entry| entry.at);
        Some(Book {
            language: order.language,
            about: about.join(" · "),
            tag: vehicle.tag.to_string(),
            printed: order.printed,
            seal: order.seal,
            span: (moments.clone().min()?, moments.max()?),
            entries,
            definitions: order.definitions,
            history: order.history,
            changed: ever_changed(order.history).collect(),
        })
    }
}

impl Book<'_> {
    /// How many life lines it has.
    pub fn lines(&self) -> usize {
        self.changed.len()
    }

    /// How many entries.
    pub fn entries(&self) -> usize {
        self.entries.len()
    }

    /// The life lines, in their order.
    pub(crate) fn life_lines(&self) -> impl Iterator<Item = LifeLine> {
        self.changed
            .iter()
            .filter_map(|field| life_line(field, self.history, self.definitions, |entry| self.happened(entry)))
    }

    /// What an entry altered: which line, and the words.
    pub(crate) fn altered(&self, entry: &BookEntry) -> impl Iterator<Item = (Option<usize>, String)> {
        let steps = self.history.transitions_of(entry.number).filter(|(_, step)| step.origin != Origin::FirstKnown);
        steps.map(|(field, step)| (self.changed.binary_search(&field).ok(), altered(field, step, self.language)))
    }

    /// Whether a later entry says that the work in an entry was never made.
    pub(crate) fn never_made(&self, entry: &BookEntry) -> bool {
        self.history.never_made(entry.number)
    }

    fn happened(&self, entry: EntryNumber) -> Option<OffsetDateTime> {
        let at = self.entries.binary_search_by_key(&entry, |entry| entry.number).ok()?;
        Some(self.entries[at].at)
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
        Origin::CannotTell(_) => format!(" ({})", words.cannot_tell),
        Origin::FirstKnown | Origin::Work => String::new(),
    };
    if let Field::Undeclared { .. } = field {
        return format!("{}{hand}", language.altered(field, step.found.as_ref(), Some(&step.left)));
    }
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
