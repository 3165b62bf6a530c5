//! `entry.toml`: one line of the journal.

use asfound_core::entry::{
    Author, AuthorisedItem, Body, BusLogBody, CorrectedTerm, Correction, Entry, OrderNumber, OrderTerms, PutBackOf,
    ReadingBody, Reason, TermSubject, Vehicle, WorkBody,
};
use asfound_core::moment::Precision;
use asfound_core::names::EntryNumber;
use serde::{Deserialize, Serialize};
use thiserror::Error;
use time::OffsetDateTime;

use super::{Chain, ReplayOrigin, Salt};
use crate::Digest;
use crate::sign::{Fingerprint, Meaning, SignedAs};

/// The version of `entry.toml` that this program writes and reads.
pub const ENTRY_FORMAT: &str = "asfound-entry/1";

/// Why an `entry.toml` cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EntryFileError {
    /// It is no TOML, or not of this form.
    #[error("entry.toml: {0}")]
    Form(String),
    /// It is of a version that this program does not know.
    #[error("entry.toml has the format `{0}`, this program reads `{ENTRY_FORMAT}`")]
    Version(String),
    /// Its kind and its content do not go together.
    #[error("entry.toml: an entry of kind `{0}` needs its own section and no other")]
    Kind(String),
    /// What it says of its signature is half said, or does not go with its kind.
    #[error("entry.toml: `meaning` and `key` go together, and the meaning with the kind of entry")]
    Meaning,
}

/// The content of `entry.toml`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EntryFile {
    format: String,
    number: EntryNumber,
    kind: String,
    #[serde(with = "time::serde::rfc3339")]
    recorded: OffsetDateTime,
    #[serde(with = "time::serde::rfc3339")]
    happened: OffsetDateTime,
    #[serde(default, skip_serializing_if = "Precision::is_second")]
    precision: Precision,
    why: Reason,
    salt: Salt,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    source: Option<Digest>,
    author: AuthorSection,
    chain: Chain,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    replayed: Option<ReplayOrigin>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    note: Option<NoteSection>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    correction: Option<Correction>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    put_back: Option<PutBackOf>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    work: Option<WorkBody>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    reading: Option<ReadingBody>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    order: Option<OrderSection>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    witness: Option<BusLogBody>,
}

/// The author, and what the author says by signing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct AuthorSection {
    name: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    email: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    meaning: Option<Meaning>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    key: Option<Fingerprint>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct NoteSection {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    about: Option<EntryNumber>,
}

/// An order: its number alone where it is closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct OrderSection {
    number: OrderNumber,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    consent: Option<Reason>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    estimate: Option<Reason>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    authorised: Vec<AuthorisedItem>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    put_right: Vec<CorrectedTerm>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    withdrawn: Vec<TermSubject>,
}

impl OrderSection {
    fn agreed(terms: OrderTerms) -> Self {
        let OrderTerms { number, consent, estimate, authorised, put_right, withdrawn } = terms;
        Self { number, consent: Some(consent), estimate, authorised, put_right, withdrawn }
    }

    fn closed(number: OrderNumber) -> Self {
        Self {
            number,
            consent: None,
            estimate: None,
            authorised: Vec::new(),
            put_right: Vec::new(),
            withdrawn: Vec::new(),
        }
    }

    /// What was agreed to; nothing where nobody's consent is told.
    fn into_terms(self) -> Option<OrderTerms> {
        let Self { number, consent, estimate, authorised, put_right, withdrawn } = self;
        Some(OrderTerms { number, consent: consent?, estimate, authorised, put_right, withdrawn })
    }

    /// What was agreed to with the opening of an order, which has no earlier terms.
    fn into_first_terms(self) -> Option<OrderTerms> {
        self.into_terms().filter(|terms| terms.put_right.is_empty() && terms.withdrawn.is_empty())
    }

    /// The number, where nothing else is told.
    fn into_closed(self) -> Option<OrderNumber> {
        (self == Self::closed(self.number.clone())).then_some(self.number)
    }
}

#[derive(Deserialize)]
struct Version {
    format: String,
}

impl EntryFile {
    /// The file for an entry. The vehicle of an enrolment is in `vehicle.toml`.
    pub fn new(entry: &Entry, salt: Salt, chain: Chain) -> Self {
        let mut file = Self {
            format: ENTRY_FORMAT.to_owned(),
            number: entry.number,
            kind: entry.body.kind().to_owned(),
            recorded: entry.recorded,
            happened: entry.happened,
            precision: entry.precision,
            why: entry.why.clone(),
            salt,
            source: None,
            author: AuthorSection {
                name: entry.author.name().to_owned(),
                email: entry.author.email().map(str::to_owned),
                meaning: None,
                key: None,
            },
            chain,
            replayed: None,
            note: None,
            correction: None,
            put_back: None,
            work: None,
            reading: None,
            order: None,
            witness: None,
        };
        match entry.body.clone() {
            Body::Enrolled(_) => {}
            Body::Reading(reading) => file.reading = Some(reading),
            Body::Change(work) => file.work = Some(work),
            Body::PutBack(of, work) => (file.put_back, file.work) = (Some(of), Some(work)),
            Body::Correction(correction) => file.correction = Some(correction),
            Body::Note(about) => file.note = Some(NoteSection { about }),
            Body::OrderOpened(terms) | Body::OrderExtended(terms) => file.order = Some(OrderSection::agreed(terms)),
            Body::OrderClosed(number) => file.order = Some(OrderSection::closed(number)),
            Body::Witness(witness) => file.witness = Some(witness),
        }
        file
    }

    /// The same, of an entry that is going to be signed.
    #[must_use]
    pub fn signed_as(mut self, signed: Option<SignedAs>) -> Self {
        (self.author.meaning, self.author.key) = signed.map(|signed| (signed.meaning, signed.key)).unzip();
        self
    }

    /// The same, of an entry that stood elsewhere before.
    #[must_use]
    pub fn replayed(mut self, replayed: Option<ReplayOrigin>) -> Self {
        self.replayed = replayed;
        self
    }

    /// The same, of an entry whose content was taken from a file with this SHA-256.
    #[must_use]
    pub fn taken_from(mut self, source: Option<Digest>) -> Self {
        self.source = source;
        self
    }

    /// The SHA-256 of the file that the entry was taken from, where it was told.
    pub fn source(&self) -> Option<Digest> {
        self.source
    }

    /// Where the entry stood before, if it did.
    pub fn stood_before(&self) -> Option<&ReplayOrigin> {
        self.replayed.as_ref()
    }

    /// The random text of the entry, which it keeps wherever it stands.
    pub fn salt(&self) -> &Salt {
        &self.salt
    }

    /// The file as text.
    pub fn to_text(&self) -> String {
        toml::to_string_pretty(self).expect("an entry is made of texts, numbers and tables of them")
    }

    /// Reads the file. One of a newer version is named as such, whatever else it holds.
    pub fn parse(text: &str) -> Result<Self, EntryFileError> {
        let file: Result<Self, _> = toml::from_str(text);
        let format = match &file {
            Ok(file) => Some(file.format.clone()),
            Err(_) => toml::from_str(text).ok().map(|version: Version| version.format),
        };
        match format {
            Some(format) if format != ENTRY_FORMAT => Err(EntryFileError::Version(format)),
            _ => file.map_err(|error| EntryFileError::Form(error.to_string())),
        }
    }

    /// What the entry says of its own signature; nothing where it was filed without one.
    pub fn signed(&self) -> Option<SignedAs> {
        let (meaning, key) = self.author.meaning.zip(self.author.key.clone())?;
        Some(SignedAs { meaning, key })
    }

    /// How the entry is tied to those before it.
    pub fn chain(&self) -> &Chain {
        &self.chain
    }

    /// The entry; `vehicle` is what `vehicle.toml` says, for an enrolment.
    ///
    /// # Errors
    /// When kind and content do not go together, or the meaning of the signature goes with neither.
    pub fn into_entry(self, vehicle: impl FnOnce() -> Option<Vehicle>) -> Result<Entry, EntryFileError> {
        let kind = self.kind;
        let mismatch = || EntryFileError::Kind(kind.clone());
        let sections = (self.note, self.correction, self.put_back, self.work, self.reading, self.order);
        let body = match (kind.as_str(), sections) {
            ("witness", (None, None, None, None, None, None)) => Body::Witness(self.witness.ok_or_else(mismatch)?),
            _ if self.witness.is_some() => return Err(mismatch()),
            ("enrolled", (None, None, None, None, None, None)) => Body::Enrolled(vehicle().ok_or_else(mismatch)?),
            ("reading", (None, None, None, None, Some(reading), None)) => Body::Reading(reading),
            ("change", (None, None, None, Some(work), None, None)) => Body::Change(work),
            ("put-back", (None, None, Some(of), Some(work), None, None)) => Body::PutBack(of, work),
            ("correction", (None, Some(correction), None, None, None, None)) => Body::Correction(correction),
            ("note", (Some(note), None, None, None, None, None)) => Body::Note(note.about),
            ("order-opened", (None, None, None, None, None, Some(order))) => {
                Body::OrderOpened(order.into_first_terms().ok_or_else(mismatch)?)
            }
            ("order-extended", (None, None, None, None, None, Some(order))) => {
                Body::OrderExtended(order.into_terms().ok_or_else(mismatch)?)
            }
            ("order-closed", (None, None, None, None, None, Some(order))) => {
                Body::OrderClosed(order.into_closed().ok_or_else(mismatch)?)
            }
            _ => return Err(mismatch()),
        };
        let meaning_fits = self.author.meaning.is_none_or(|meaning| meaning.fits(&body));
        if self.author.meaning.is_some() != self.author.key.is_some() || !meaning_fits {
            return Err(EntryFileError::Meaning);
        }
        let AuthorSection { name, email, .. } = self.author;
        let author = Author::new(&name, email.as_deref()).map_err(|error| EntryFileError::Form(error.to_string()))?;
        let (number, recorded, happened, precision) = (self.number, self.recorded, self.happened, self.precision);
        Ok(Entry { number, recorded, happened, precision, author, why: self.why, body })
    }
}
