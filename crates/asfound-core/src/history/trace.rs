//! The life of every field of a vehicle.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use thiserror::Error;
use time::OffsetDateTime;

use super::chronology::{Chronology, TimeOrder};
use super::corrections::Corrections;
use super::coverage::Coverage;
use super::tracer::Tracer;
use super::units::Units;
use super::{Field, LogWrite, OpenSteps, Proof, Timeline, Timelines, Transition};
use crate::definition::DefinitionSet;
use crate::difference::Content;
use crate::entry::{Entry, Moment, PutBackOf, Reason};
use crate::movement::Movements;
use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::state::{InvalidEffect, State};

/// Why a journal cannot be traced.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum HistoryError {
    /// An entry does not follow from those before it.
    #[error(transparent)]
    Misfit(#[from] InvalidEffect),
}

/// A history that is being traced, one entry after the other, so that they need not all be at hand.
#[derive(Debug, Clone)]
pub struct HistoryBuilder<'d>(Tracer<'d>);

impl<'d> HistoryBuilder<'d> {
    /// Before the first entry.
    pub fn new(definitions: &'d DefinitionSet) -> Self {
        Self(Tracer::new(definitions))
    }

    /// Takes in the next entry.
    ///
    /// # Errors
    /// When it does not follow from those before.
    pub fn entry(&mut self, entry: &Entry) -> Result<(), HistoryError> {
        self.0.entry(entry)
    }

    /// The state after the last entry that was taken in.
    pub fn state(&self) -> &State {
        self.0.state()
    }

    /// The life of every field up to there.
    pub fn finish(self) -> History {
        self.0.finish()
    }

    /// What was so at a moment, as far as is known now: the life of every field from what certainly happened before it.
    ///
    /// # Errors
    /// When two definitions fit a module.
    pub fn until(self, until: OffsetDateTime) -> Result<History, HistoryError> {
        self.0.until(until)
    }
}

/// The life of every field of a vehicle.
#[derive(Debug, Clone, Default)]
pub struct History {
    pub(super) state: State,
    pub(super) timelines: Timelines,
    pub(super) coverage: Coverage,
    pub(super) open_steps: OpenSteps,
    pub(super) corrections: Corrections,
    /// The last entry that says what a field holds, work that was never made apart; of fields for which that is another
    /// entry than the one of their last transition.
    pub(super) last_said: BTreeMap<Field, Option<EntryNumber>>,
    pub(super) put_backs: BTreeMap<EntryNumber, PutBackOf>,
    pub(super) last_reading: Option<EntryNumber>,
    /// Records that are laid out otherwise than before, or whose module got other software, and since when.
    pub(super) layout_changed: BTreeMap<(ModuleName, RecordName), EntryNumber>,
    pub(super) movements: Arc<Movements>,
    /// Work that altered nothing but checksums and bits that a definition says change by themselves.
    pub(super) only_declared_volatile: BTreeSet<EntryNumber>,
    /// By field and entry, the write on the bus that brought what the field holds.
    pub(super) wire: BTreeMap<Field, BTreeMap<EntryNumber, LogWrite>>,
    /// By field and entry of the work, what a log proves of it.
    pub(super) witnessed: BTreeMap<Field, BTreeMap<EntryNumber, Proof>>,
    /// When the entries happened; told by their places in time where these are not those in which they were filed.
    pub(super) chronology: Chronology,
    /// Which unit was there when, likewise.
    pub(super) units: Units,
    /// The places of the entries in time, where these are not those in which they were filed.
    pub(super) order: Option<TimeOrder>,
}

impl History {
    /// Traces every field through `entries`, which start with the enrolment.
    ///
    /// # Errors
    /// When the entries do not follow from each other.
    pub fn trace<'e>(
        entries: impl IntoIterator<Item = &'e Entry>,
        definitions: &DefinitionSet,
    ) -> Result<Self, HistoryError> {
        let mut tracing = HistoryBuilder::new(definitions);
        for entry in entries {
            tracing.entry(entry)?;
        }
        Ok(tracing.finish())
    }

    /// The state after the last entry.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The steps of which nobody knows what became of them.
    pub fn open_steps(&self) -> &OpenSteps {
        &self.open_steps
    }

    /// Every field of which something is known, with its transitions.
    pub fn timelines(&self) -> &Timelines {
        &self.timelines
    }

    /// What is known of bits that no definition names: which ones move by themselves, and which ones somebody wrote.
    pub fn movements(&self) -> &Movements {
        &self.movements
    }

    /// The transitions of one field.
    pub fn timeline(&self, field: &Field) -> Option<&Timeline> {
        self.timelines.get(field)
    }

    /// The entries that correct an entry, in order.
    pub fn corrections_of(&self, entry: EntryNumber) -> &[EntryNumber] {
        self.corrections.of(entry)
    }

    /// Whether a later entry says that the work in an entry was never made.
    pub fn never_made(&self, entry: EntryNumber) -> bool {
        self.corrections.never_made(entry)
    }

    /// The words that an entry should have had as its reason or note, where a later entry says so.
    pub fn corrected_words(&self, entry: EntryNumber) -> Option<&Reason> {
        self.corrections.words(entry)
    }

    /// The transitions that one entry tells of, by field.
    pub fn transitions_of(&self, entry: EntryNumber) -> impl Iterator<Item = (&Field, &Transition)> {
        self.timelines.of_entry(entry)
    }

    /// What a put-back took back, by its number; nothing when the entry is no put-back.
    pub fn put_back_of(&self, entry: EntryNumber) -> Option<&PutBackOf> {
        self.put_backs.get(&entry)
    }

    /// The last entry that shows a record laid out otherwise than before, or its module with another part number or other
    /// software: what bits without a name held before that cannot be taken over.
    pub fn layout_changed(&self, module: &ModuleName, record: &RecordName) -> Option<EntryNumber> {
        self.layout_changed.get(&(module.clone(), record.clone())).copied()
    }

    /// The last entry that says what a field holds, also where it was nothing else than what it held before; work that was
    /// never made, and its correction, say nothing.
    pub(crate) fn last_said(&self, field: &Field) -> Option<EntryNumber> {
        let last = || self.timeline(field)?.last().map(|last| last.entry);
        self.last_said.get(field).copied().unwrap_or_else(last)
    }

    /// The readings that cover `field`, in the order in which they were taken.
    pub fn readings_of(&self, field: &Field) -> impl Iterator<Item = EntryNumber> {
        self.coverage.readings_of(field).into_iter().flatten().map(|place| self.entry_at(*place))
    }

    /// Whether one entry certainly tells of an earlier moment than another.
    pub fn is_before(&self, earlier: EntryNumber, later: EntryNumber) -> bool {
        self.chronology.is_before(self.place_of(earlier), self.place_of(later))
    }

    /// What the first reading of a field shows that was certainly taken after a moment.
    pub fn shown_after(&self, field: &Field, moment: Moment) -> Option<(EntryNumber, &Content)> {
        let after = |reading: &EntryNumber| {
            self.chronology.of(self.place_of(*reading)).is_some_and(|taken| moment.is_before(&taken))
        };
        let reading = self.readings_of(field).find(after)?;
        let place = self.place_of(reading);
        let steps = self.timeline(field)?.transitions();
        let last = steps.iter().rev().find(|step| self.place_of(step.entry) <= place)?;
        Some((reading, &last.left))
    }

    /// Whether both entries tell of one and the same unit of a module.
    pub fn same_unit(&self, module: &ModuleName, one: EntryNumber, other: EntryNumber) -> bool {
        let unit = |entry| self.units.at(module, self.place_of(entry));
        unit(one) == unit(other)
    }

    /// The place of an entry among all in the order in which they happened; of those that cannot be ordered, in which they
    /// were filed.
    pub fn place_of(&self, entry: EntryNumber) -> EntryNumber {
        self.order.as_ref().map_or(entry, |order| order.place_of(entry))
    }

    /// Whether the entries were filed in the order in which they happened, so that their places are their numbers.
    pub fn is_as_filed(&self) -> bool {
        self.order.is_none()
    }

    fn entry_at(&self, place: EntryNumber) -> EntryNumber {
        self.order.as_ref().map_or(place, |order| order.entry_at(place))
    }

    /// The last reading, whatever it covers.
    pub fn last_reading(&self) -> Option<EntryNumber> {
        self.last_reading
    }

    /// The last reading that covers `field`.
    pub fn last_reading_of(&self, field: &Field) -> Option<EntryNumber> {
        self.coverage.readings_of(field)?.last().map(|place| self.entry_at(*place))
    }
}
