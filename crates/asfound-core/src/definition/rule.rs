//! Rules between settings.

use std::collections::BTreeSet;
use std::fmt;

use super::{Comparison, Truth};
use crate::document::TextPosition;
use crate::names::{RuleName, SettingPath};
use crate::value::Value;

/// What a rule asks of one setting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    pub(super) setting: SettingPath,
    pub(super) test: Comparison,
    pub(super) place: TextPosition,
}

impl Condition {
    /// The setting.
    pub fn setting(&self) -> &SettingPath {
        &self.setting
    }

    /// What its value is asked to be.
    pub fn test(&self) -> &Comparison {
        &self.test
    }

    /// Where the definition file says so.
    pub fn place(&self) -> TextPosition {
        self.place
    }

    /// Whether it holds for the value that `lookup` finds.
    pub fn evaluate(&self, lookup: impl Fn(&SettingPath) -> Option<Value>) -> Truth {
        self.test.holds(lookup(&self.setting).as_ref())
    }
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} {}", self.setting, self.test))
    }
}

/// The two forms of rules.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RuleKind {
    /// When all of `when` hold, all of `needs` must. Neither is empty.
    Needs {
        /// The conditions that call for the others.
        when: Vec<Condition>,
        /// The conditions that must hold then.
        needs: Vec<Condition>,
    },
    /// At most one of these groups holds; a group holds when all its conditions do. At least two groups, none empty.
    Exclusive(Vec<Vec<Condition>>),
}

/// A rule between settings, of the definition's own module and of others.
#[derive(Debug, Clone)]
pub struct Rule {
    pub(super) name: RuleName,
    pub(super) kind: RuleKind,
    pub(super) because: String,
    pub(super) source: Option<String>,
    pub(super) place: TextPosition,
}

impl Rule {
    /// Its name, which no other rule of the definition has.
    pub fn name(&self) -> &RuleName {
        &self.name
    }

    /// What it says.
    pub fn kind(&self) -> &RuleKind {
        &self.kind
    }

    /// Why, for people.
    pub fn because(&self) -> &str {
        &self.because
    }

    /// Where it comes from.
    pub fn source(&self) -> Option<&str> {
        self.source.as_deref()
    }

    /// Where the definition file gives it.
    pub fn place(&self) -> TextPosition {
        self.place
    }

    /// Every condition in it.
    pub fn conditions(&self) -> impl Iterator<Item = &Condition> {
        let (first, second, groups): (&[Condition], &[Condition], &[Vec<Condition>]) = match &self.kind {
            RuleKind::Needs { when, needs } => (when, needs, &[]),
            RuleKind::Exclusive(groups) => (&[], &[], groups),
        };
        first.iter().chain(second).chain(groups.iter().flatten())
    }

    /// Every setting that it is about.
    pub fn settings(&self) -> BTreeSet<&SettingPath> {
        self.conditions().map(Condition::setting).collect()
    }

    /// The values that `lookup` finds for the rule's settings, in words: `body.a = on, body.b = 3`.
    pub(super) fn values_found(&self, lookup: impl Fn(&SettingPath) -> Option<Value>) -> String {
        let settings = self.settings().into_iter();
        let found = settings.filter_map(|setting| lookup(setting).map(|value| format!("{setting} = {value}")));
        found.collect::<Vec<_>>().join(", ")
    }

    /// Whether the rule is kept by the values that `lookup` finds; a value that is not known is `None`.
    pub fn evaluate(&self, lookup: impl Fn(&SettingPath) -> Option<Value>) -> Truth {
        let all = |conditions: &[Condition]| Truth::all(conditions.iter().map(|condition| condition.evaluate(&lookup)));
        match &self.kind {
            RuleKind::Needs { when, needs } => Truth::any([all(when).not(), all(needs)]),
            RuleKind::Exclusive(groups) => {
                let (mut certain, mut possible) = (0, 0);
                for group in groups {
                    match all(group) {
                        Truth::Holds => certain += 1,
                        Truth::CannotTell => possible += 1,
                        Truth::Fails => {}
                    }
                }
                match (certain, certain + possible) {
                    (2.., _) => Truth::Fails,
                    (_, ..=1) => Truth::Holds,
                    _ => Truth::CannotTell,
                }
            }
        }
    }
}
