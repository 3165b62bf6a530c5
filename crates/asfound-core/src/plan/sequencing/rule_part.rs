//! Rules taken apart into what must never be the case.

use crate::definition::{Comparison, Condition, Rule, RuleKind, Truth};
use crate::names::SettingPath;
use crate::value::Value;

/// A part of a rule: conditions that must not all be met at once.
///
/// A rule with `when` and `needs` has one part for each of `needs` (all of `when` are met and this one is not); an
/// exclusive rule has one for each pair of its groups (both are met). The rule is broken exactly where one of its parts is.
/// So a rule that is broken already is made worse where a part of it becomes broken that was not.
#[derive(Debug, Clone)]
pub(in crate::plan) struct Part<'d> {
    /// The rule's place in the book.
    pub(in crate::plan) rule: usize,
    /// What must not all be met.
    pub(super) atoms: Vec<Atom<'d>>,
}

/// One condition on one setting, or its opposite.
#[derive(Debug, Clone)]
pub(super) struct Atom<'d> {
    pub(super) setting: &'d SettingPath,
    test: &'d Comparison,
    /// What the comparison has to say; what cannot be told meets nothing.
    says: Truth,
}

impl Atom<'_> {
    pub(super) fn met(&self, value: Option<&Value>) -> bool {
        self.test.holds(value) == self.says
    }
}

impl<'d> Part<'d> {
    /// The parts of the rule at a place in the book.
    pub(in crate::plan) fn of(place: usize, rule: &'d Rule) -> Vec<Self> {
        let atoms = |conditions: &'d [Condition], says: Truth| {
            conditions.iter().map(move |it| Atom { setting: it.setting(), test: it.test(), says })
        };
        match rule.kind() {
            RuleKind::Needs { when, needs } => needs
                .chunks(1)
                .map(|need| atoms(when, Truth::Holds).chain(atoms(need, Truth::Fails)).collect())
                .map(|atoms| Self { rule: place, atoms })
                .collect(),
            RuleKind::Exclusive(groups) => groups
                .iter()
                .enumerate()
                .flat_map(|(at, group)| groups[at + 1..].iter().map(move |other| (group, other)))
                .map(|(group, other)| atoms(group, Truth::Holds).chain(atoms(other, Truth::Holds)).collect())
                .map(|atoms| Self { rule: place, atoms })
                .collect(),
        }
    }

    /// Whether the part is broken by the values that `lookup` finds.
    pub(in crate::plan) fn broken<'v>(&self, lookup: impl Fn(&SettingPath) -> Option<&'v Value>) -> bool {
        self.atoms.iter().all(|atom| atom.met(lookup(atom.setting)))
    }
}
