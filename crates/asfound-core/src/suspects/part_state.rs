//! Whether what some entries altered is in, out, or somewhere between.

use super::part::SuspectGroup;
use crate::difference::Content;
use crate::history::{Field, History, Origin};
use crate::names::EntryNumber;

/// A field with what it holds when its part is in, and when it is out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Toggle<'h> {
    pub(super) field: &'h Field,
    pub(super) inside: &'h Content,
    pub(super) outside: &'h Content,
}

/// Whether a part is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PartState {
    In,
    Out,
    /// Some of it is in; or it holds what it held between its entries, or nobody knows which of all that.
    Between,
    /// Something else, or nothing that is known.
    Elsewhere,
}

/// The entry that tells of the latest moment.
pub(super) fn latest(history: &History) -> EntryNumber {
    let count = history.state().last.map_or(1, EntryNumber::get);
    let entries = (1..=count).filter_map(EntryNumber::new);
    entries.max_by_key(|entry| history.place_of(*entry)).unwrap_or(EntryNumber::FIRST)
}

/// What a field can have held when an entry was filed, and since the drive before it: one content where that is certain.
///
/// A difference that a reading shows and nobody recorded came at some time since the field was last read.
fn contents_at<'h>(history: &'h History, field: &Field, entry: EntryNumber) -> Vec<&'h Content> {
    let Some(timeline) = history.timeline(field) else { return Vec::new() };
    let steps = timeline.transitions();
    let before = |at: usize| match at.checked_sub(1) {
        Some(earlier) => steps.get(earlier).map(|step| &step.left),
        None => steps.first().and_then(|step| step.found.as_ref()),
    };
    let recorded = |origin: Origin| matches!(origin, Origin::Work | Origin::FirstKnown);
    let place = history.place_of(entry);
    let next = steps.partition_point(|step| history.place_of(step.entry) <= place);
    let mut contents: Vec<&Content> = before(next).into_iter().collect();
    // The reading itself shows it: it may have come before the drive or after it.
    if let Some(last) = next.checked_sub(1)
        && steps[last].entry == entry
        && !recorded(steps[last].origin)
    {
        contents.extend(before(last));
    }
    if let Some(step) = steps.get(next).filter(|step| !recorded(step.origin)) {
        let until = history.place_of(step.entry);
        let mut read = history.readings_of(field).map(|reading| history.place_of(reading));
        if !read.any(|reading| reading >= place && reading < until) {
            contents.push(&step.left);
        }
    }
    contents
}

impl SuspectGroup {
    /// Where the part is after an entry.
    pub(super) fn place(&self, history: &History, entry: EntryNumber) -> PartState {
        let (mut inside, mut outside) = (true, true);
        for toggle in self.toggles(history) {
            let contents = contents_at(history, toggle.field, entry);
            if contents.is_empty() || !contents.iter().all(|content| self.held(history, toggle.field, content)) {
                return PartState::Elsewhere;
            }
            inside &= contents.iter().all(|content| content.same(toggle.inside));
            outside &= contents.iter().all(|content| content.same(toggle.outside));
        }
        match (inside, outside) {
            (true, _) => PartState::In,
            (false, true) => PartState::Out,
            (false, false) => PartState::Between,
        }
    }

    /// Whether a field holds the same after two entries.
    pub(super) fn same_at(&self, history: &History, one: EntryNumber, other: EntryNumber) -> bool {
        self.fields.iter().all(|field| {
            let (a, b) = (contents_at(history, field, one), contents_at(history, field, other));
            matches!((a.as_slice(), b.as_slice()), ([a], [b]) if a.same(b))
        })
    }

    /// Whether the entries of the part found or left a content.
    fn held(&self, history: &History, field: &Field, content: &Content) -> bool {
        let steps = history.timeline(field).map_or(&[][..], |timeline| timeline.transitions());
        let of_part = steps.iter().filter(|step| self.entries.contains(&step.entry));
        of_part.flat_map(|step| step.found.iter().chain([&step.left])).any(|held| held.same(content))
    }
}
