//! What is put back and brought in again as one: entries that altered the same settings.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use super::narrowing::MOST_PARTS;
use super::part_state::Toggle;
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
pub struct SuspectGroup {
    /// The entries, in order.
    pub entries: BTreeSet<EntryNumber>,
    /// What was altered, in order.
    pub fields: Box<[Field]>,
    /// The sum of their scores.
    pub weight: u32,
    /// Why it is not experimented with; nothing where it is.
    pub not_tried: Option<NotTried>,
}

impl SuspectGroup {
    /// What each field held before the part and what it held after, which is not known of every field.
    fn altered<'h>(&self, history: &'h History) -> impl Iterator<Item = (&'h Field, Option<&'h Content>, &'h Content)> {
        self.fields.iter().filter_map(|field| {
            let (field, timeline) = history.timelines().get_key_value(field)?;
            let mut of_part = timeline.transitions().iter().filter(|step| self.entries.contains(&step.entry));
            let first = of_part.next()?;
            Some((field, first.found.as_ref(), &of_part.next_back().unwrap_or(first).left))
        })
    }

    /// The fields that hold something else when the part is out.
    pub(super) fn toggles<'h>(&self, history: &'h History) -> impl Iterator<Item = Toggle<'h>> {
        self.altered(history).filter_map(|(field, outside, inside)| {
            let outside = outside.filter(|outside| !outside.same(inside))?;
            Some(Toggle { field, inside, outside })
        })
    }

    fn of(suspects: &[&Suspect], suspicion: &Suspicion, history: &History) -> Self {
        let entries: BTreeSet<EntryNumber> = suspects.iter().map(|suspect| suspect.entry).collect();
        let fields: BTreeSet<&Field> = suspects.iter().flat_map(|suspect| suspicion.fields(suspect, history)).collect();
        let fields = fields.into_iter().cloned().collect();
        let mut part = Self { entries, fields, weight: weight(suspects), not_tried: None };
        let not_known = part.altered(history).filter(|(_, found, _)| found.is_none()).last();
        let impossible = if suspects.iter().any(|suspect| !suspect.renewed.is_empty()) {
            Some("a module is another unit or has other software, which putting settings back does not undo".to_owned())
        } else if let Some((field, ..)) = not_known {
            Some(format!("what {field} held before is not known"))
        } else if part.toggles(history).next().is_none() {
            Some("it was taken back again within the window".to_owned())
        } else {
            None
        };
        part.not_tried = impossible.map(NotTried::Impossible);
        part
    }
}

fn weight(suspects: &[&Suspect]) -> u32 {
    suspects.iter().map(|suspect| suspect.score()).sum()
}

/// The suspects in groups, of which no two altered the same field: for each its group and its place, group by group.
fn groups(suspicion: &Suspicion, history: &History) -> Vec<(usize, usize)> {
    let suspects = &suspicion.suspects;
    // Each suspect points at one of its group that came before, the first of a group at itself.
    let mut earlier: Vec<usize> = Vec::with_capacity(suspects.len());
    let mut first_with: BTreeMap<&Field, usize> = BTreeMap::new();
    for (at, suspect) in suspects.iter().enumerate() {
        earlier.push(at);
        for field in suspicion.fields(suspect, history) {
            let first = *first_with.entry(field).or_insert(at);
            let (a, b) = (first_of(&mut earlier, first), first_of(&mut earlier, at));
            earlier[a.max(b)] = a.min(b);
        }
    }
    let mut groups: Vec<(usize, usize)> = (0..suspects.len()).map(|at| (first_of(&mut earlier, at), at)).collect();
    groups.sort_unstable();
    groups
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
pub(super) fn parts(suspicion: &Suspicion, history: &History) -> Vec<SuspectGroup> {
    let suspects = |group: &[(usize, usize)]| -> Vec<&Suspect> {
        group.iter().filter_map(|(_, at)| suspicion.suspects.get(*at)).collect()
    };
    let by_group = groups(suspicion, history);
    let mut groups: Vec<&[(usize, usize)]> = by_group.chunk_by(|(a, _), (b, _)| a == b).collect();
    groups.sort_by_cached_key(|group| {
        let group = suspects(group);
        (Reverse(weight(&group)), group.iter().map(|suspect| suspect.entry).min())
    });
    // More than can be told apart at once: the lightest are tried together.
    let alone = if groups.len() > MOST_PARTS { MOST_PARTS - 1 } else { groups.len() };
    let lightest = groups.split_off(alone).concat();
    let together = Some(lightest.as_slice()).filter(|group| !group.is_empty());
    groups.into_iter().chain(together).map(|group| SuspectGroup::of(&suspects(group), suspicion, history)).collect()
}
