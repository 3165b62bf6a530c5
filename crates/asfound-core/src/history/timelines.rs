//! The timelines of all fields.

use super::{Field, Timeline, Transition};
use crate::names::EntryNumber;

/// The timelines of all fields of which something is known, by field.
///
/// They lie in one sorted list, and by entry only the places in it are kept: most of what is known of a long journal is
/// here.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Timelines {
    by_field: Vec<(Field, Timeline)>,
    /// Which entry tells of which fields, by their places, sorted.
    told: Vec<(EntryNumber, u32)>,
}

impl Timelines {
    /// Of such a list in any order, with each field once.
    pub(super) fn of(mut by_field: Vec<(Field, Timeline)>) -> Self {
        by_field.shrink_to_fit();
        by_field.sort_by(|(a, _), (b, _)| a.cmp(b));
        let count = by_field.iter().map(|(_, timeline)| timeline.transitions().len()).sum();
        let mut told = Vec::with_capacity(count);
        for (place, (_, timeline)) in (0..).zip(&by_field) {
            told.extend(timeline.transitions().iter().map(|step| (step.entry, place)));
        }
        told.sort_unstable();
        told.dedup();
        Self { by_field, told }
    }

    /// The list.
    pub(super) fn into_fields(self) -> impl Iterator<Item = (Field, Timeline)> {
        self.by_field.into_iter()
    }

    /// The timeline of a field.
    pub fn get(&self, field: &Field) -> Option<&Timeline> {
        self.get_key_value(field).map(|(_, timeline)| timeline)
    }

    /// The same with the field as it is kept here.
    pub fn get_key_value(&self, field: &Field) -> Option<(&Field, &Timeline)> {
        let at = self.by_field.binary_search_by(|(other, _)| other.cmp(field)).ok()?;
        self.by_field.get(at).map(pair)
    }

    /// The fields, in order.
    pub fn keys(&self) -> impl Iterator<Item = &Field> {
        self.by_field.iter().map(|(field, _)| field)
    }

    /// The timelines, in the order of their fields.
    pub fn values(&self) -> impl Iterator<Item = &Timeline> {
        self.by_field.iter().map(|(_, timeline)| timeline)
    }

    /// Fields and timelines, in order.
    pub fn iter(&self) -> Iter<'_> {
        self.by_field.iter().map(pair)
    }

    /// The transitions that one entry tells of, by field.
    pub(super) fn of_entry(&self, entry: EntryNumber) -> impl Iterator<Item = (&Field, &Transition)> {
        let first = self.told.partition_point(|(other, _)| *other < entry);
        let places = self.told[first..].iter().take_while(move |(other, _)| *other == entry);
        let told = places.filter_map(|(_, place)| self.by_field.get(usize::try_from(*place).ok()?));
        told.flat_map(move |(field, timeline)| {
            timeline.transitions()[timeline.places_of(entry)].iter().map(move |step| (field, step))
        })
    }
}

/// Goes through fields and timelines.
pub type Iter<'t> =
    std::iter::Map<std::slice::Iter<'t, (Field, Timeline)>, fn(&(Field, Timeline)) -> (&Field, &Timeline)>;

fn pair((field, timeline): &(Field, Timeline)) -> (&Field, &Timeline) {
    (field, timeline)
}

impl<'t> IntoIterator for &'t Timelines {
    type Item = (&'t Field, &'t Timeline);
    type IntoIter = Iter<'t>;
    fn into_iter(self) -> Iter<'t> {
        self.iter()
    }
}
