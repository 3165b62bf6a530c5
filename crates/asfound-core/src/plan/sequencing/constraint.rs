//! What rules ask of the order in which records are written.

use std::collections::{BTreeMap, BTreeSet};

use super::rule_part::{Atom, Part};
use super::writable::{FOUND, PossibleContents, WANTED, Writable};
use crate::names::SettingPath;
use crate::plan::rules::RuleBook;

/// A part of a rule, as far as writes decide whether it is broken: it is where all its writables hold contents that
/// meet their conditions.
#[derive(Debug, Clone)]
pub(super) struct Constraint {
    pub(super) rule: usize,
    /// The settings that it looks at.
    pub(super) settings: Vec<SettingPath>,
    /// For each writable, which of its contents meet the conditions on it.
    pub(super) writables: Vec<(usize, Vec<bool>)>,
}

impl Constraint {
    /// Those writables whose only write makes the conditions on them met; the tie is broken once all of these are
    /// written and none of [`Self::falling`].
    pub(super) fn rising(&self) -> impl Iterator<Item = usize> {
        self.writables.iter().filter(|(_, met)| !met[usize::from(FOUND)]).map(|(writable, _)| *writable)
    }

    /// Those writables whose only write makes the conditions on them unmet.
    pub(super) fn falling(&self) -> impl Iterator<Item = usize> {
        self.writables.iter().filter(|(_, met)| !met[usize::from(WANTED)]).map(|(writable, _)| *writable)
    }

    /// Whether all its writables are among some.
    pub(super) fn within(&self, members: &[usize]) -> bool {
        self.writables.iter().all(|(writable, _)| members.contains(writable))
    }
}

/// The ties between writables, with every other setting as the book has it.
pub(super) fn ties(
    writables: &[Writable<'_>],
    contents: &[PossibleContents],
    parts: &[Part<'_>],
    book: &RuleBook<'_>,
) -> Vec<Constraint> {
    let settings = writables.iter().enumerate();
    let written: BTreeMap<&SettingPath, (usize, usize)> = settings
        .flat_map(|(at, writable)| writable.settings.iter().enumerate().map(move |(s, it)| (&it.path, (at, s))))
        .collect();
    parts.iter().filter_map(|part| tie(writables, contents, part, &written, book)).collect()
}

fn tie(
    writables: &[Writable<'_>],
    contents: &[PossibleContents],
    part: &Part<'_>,
    written: &BTreeMap<&SettingPath, (usize, usize)>,
    book: &RuleBook<'_>,
) -> Option<Constraint> {
    let mut conditions: BTreeMap<usize, Vec<(usize, &Atom<'_>)>> = BTreeMap::new();
    for atom in &part.atoms {
        match written.get(atom.setting) {
            Some((writable, setting)) => {
                conditions.entry(*writable).or_default().push((*setting, atom));
            }
            None if atom.met(book.value(atom.setting)) => {}
            None => return None,
        }
    }
    let mut tied = Vec::new();
    for (at, atoms) in conditions {
        let meets = |held: &Vec<super::writable::HeldValue>| {
            atoms.iter().all(|(setting, atom)| atom.met(writables[at].settings[*setting].value(&held[*setting])))
        };
        let met: Vec<bool> = contents[at].list.iter().map(meets).collect();
        if met.iter().all(|met| !met) {
            return None;
        }
        if !met.iter().all(|met| *met) {
            tied.push((at, met));
        }
    }
    let settings: BTreeSet<SettingPath> = part.atoms.iter().map(|atom| atom.setting.clone()).collect();
    let settings = settings.into_iter().collect();
    (!tied.is_empty()).then_some(Constraint { rule: part.rule, settings, writables: tied })
}
