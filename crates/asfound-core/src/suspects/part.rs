//! What is put back and brought in again as one: entries that altered the same settings.

use std::collections::{BTreeMap, BTreeSet};

use super::narrowing::MOST_PARTS;
use super::{Suspect, Suspicion};
use crate::difference::Content;
use crate::history::{Field, History};
use crate::names::EntryNumber;
use crate::safety::SafetyTag;

/// Why a part is not experimented with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotTried {
    /// It touches a restricted system: a qualified technician should look.
    Restricted(BTreeSet<SafetyTag>),
    /// It cannot be put back, and why.
    Impossible(String),
}

/// Suspects that can only be told apart from the rest together, because they altered the same settings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The entries, in order.
    pub entries: BTreeSet<EntryNumber>,
    /// What was altered.
    pub fields: BTreeSet<Field>,
    /// The sum of their scores.
    pub weight: u32,
    /// Why it is not experimented with; nothing where it is.
    pub not_tried: Option<NotTried>,
    pub(super) toggles: Vec<Toggle>,
}

/// A field with what it holds when its part is in, and when it is out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Toggle {
    pub(super) field: Field,
    pub(super) inside: Content,
    pub(super) outside: Content,
}

/// Whether a part is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    In,
    Out,
    /// Neither: some of it, or something else.
    Neither,
}

/// What a field held after an entry.
fn content_after<'h>(history: &'h History, field: &Field, entry: EntryNumber) -> Option<&'h Content> {
    let steps = history.timeline(field)?.transitions();
    match steps.iter().rev().find(|step| step.entry <= entry) {
        Some(step) => Some(&step.left),
        None => steps.first()?.found.as_ref(),
    }
}

impl Part {
    /// Where the part is after an entry.
    pub(super) fn place(&self, history: &History, entry: EntryNumber) -> Place {
        let holds = |toggle: &Toggle, wanted: &Content| {
            content_after(history, &toggle.field, entry).is_some_and(|content| content.same(wanted))
        };
        if self.toggles.iter().all(|toggle| holds(toggle, &toggle.inside)) {
            Place::In
        } else if self.toggles.iter().all(|toggle| holds(toggle, &toggle.outside)) {
            Place::Out
        } else {
            Place::Neither
        }
    }

    fn of(suspects: &[&Suspect], history: &History) -> Self {
        let entries: BTreeSet<EntryNumber> = suspects.iter().map(|suspect| suspect.entry).collect();
        let fields: BTreeSet<Field> = suspects.iter().flat_map(|suspect| suspect.fields.iter().cloned()).collect();
        let weight = suspects.iter().map(|suspect| suspect.score()).sum();
        let (mut toggles, mut not_known) = (Vec::new(), None);
        for field in &fields {
            let steps = history.timeline(field).map_or(&[][..], |timeline| timeline.transitions());
            let mut of_part = steps.iter().filter(|step| entries.contains(&step.entry));
            let Some(first) = of_part.next() else { continue };
            let inside = of_part.next_back().unwrap_or(first).left.clone();
            match &first.found {
                None => not_known = Some(field.clone()),
                Some(outside) if outside.same(&inside) => {}
                Some(outside) => toggles.push(Toggle { field: field.clone(), inside, outside: outside.clone() }),
            }
        }
        let impossible = if suspects.iter().any(|suspect| !suspect.renewed.is_empty()) {
            Some("a module is another unit or has other software, which putting settings back does not undo".to_owned())
        } else if let Some(field) = not_known {
            Some(format!("what {field} held before is not known"))
        } else if toggles.is_empty() {
            Some("it was taken back again within the window".to_owned())
        } else {
            None
        };
        let not_tried = impossible.map(NotTried::Impossible);
        Self { entries, fields, weight, not_tried, toggles }
    }
}

/// The suspects in groups, of which no two altered the same field.
fn groups(suspects: &[Suspect]) -> Vec<Vec<&Suspect>> {
    // Each suspect points at one of its group that came before, the first of a group at itself.
    let mut earlier: Vec<usize> = Vec::with_capacity(suspects.len());
    let mut first_with: BTreeMap<&Field, usize> = BTreeMap::new();
    for (at, suspect) in suspects.iter().enumerate() {
        earlier.push(at);
        for field in &suspect.fields {
            let first = *first_with.entry(field).or_insert(at);
            let (a, b) = (first_of(&mut earlier, first), first_of(&mut earlier, at));
            earlier[a.max(b)] = a.min(b);
        }
    }
    let mut groups: BTreeMap<usize, Vec<&Suspect>> = BTreeMap::new();
    for (at, suspect) in suspects.iter().enumerate() {
        groups.entry(first_of(&mut earlier, at)).or_default().push(suspect);
    }
    groups.into_values().collect()
}

/// The first of the group; everybody on the way is told.
fn first_of(earlier: &mut [usize], mut at: usize) -> usize {
    while earlier[at] != at {
        earlier[at] = earlier[earlier[at]];
        at = earlier[at];
    }
    at
}

/// The parts, heaviest first. Suspects that altered the same field are one part.
pub(super) fn parts(suspicion: &Suspicion, history: &History) -> Vec<Part> {
    let mut parts: Vec<Part> = groups(&suspicion.suspects).iter().map(|group| Part::of(group, history)).collect();
    parts.sort_by(|a, b| b.weight.cmp(&a.weight).then(a.entries.cmp(&b.entries)));
    if parts.len() > MOST_PARTS {
        // More than can be told apart at once: the lightest are tried together.
        let lightest: BTreeSet<EntryNumber> =
            parts.split_off(MOST_PARTS - 1).into_iter().flat_map(|part| part.entries).collect();
        let by_entry: BTreeMap<EntryNumber, &Suspect> =
            suspicion.suspects.iter().map(|suspect| (suspect.entry, suspect)).collect();
        let group: Vec<&Suspect> = lightest.iter().filter_map(|entry| by_entry.get(entry).copied()).collect();
        parts.push(Part::of(&group, history));
    }
    parts
}
