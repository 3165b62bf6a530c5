//! Why there is no plan.

use std::fmt;

use thiserror::Error;

use super::RuleBreach;
use crate::definition::AmbiguousDefinition;
use crate::history::{Field, OpenStep};
use crate::names::{EntryNumber, ModuleName, RecordName, RuleName, SettingPath};

/// A later entry that stands in the way of taking an earlier one back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blocker {
    /// The field.
    pub field: Field,
    /// The entry that should be taken back.
    pub wanted: EntryNumber,
    /// The later entries that changed the field again.
    pub in_the_way: Vec<EntryNumber>,
}

/// Steps for which no safe order was found, and the rules that tie them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleCycle {
    /// The rules that make the knot: without any one of them it would not be one, unless the search was bounded.
    pub rules: Vec<RuleName>,
    /// The settings in it that are to be altered.
    pub settings: Vec<SettingPath>,
    /// Whether the search ended at its bound rather than at certainty.
    pub bounded: bool,
    /// What would untie it, each for itself.
    pub allow: Vec<Allowance>,
}

/// Something that the user could allow so that a plan becomes possible.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Allowance {
    /// That a setting is altered for a time and comes back to what it is ([`super::Targets::allow_for_a_time`]).
    AlterForATime {
        /// The setting.
        setting: SettingPath,
    },
    /// That the restricted records are written first, in a plan by themselves.
    RestrictedByItself,
}

impl fmt::Display for Allowance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AlterForATime { setting } => f.pad(&format!("let {setting} be altered for a time as well")),
            Self::RestrictedByItself => f.pad("alter the restricted settings first, in a plan by themselves"),
        }
    }
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PlanRefusal {
    /// Nothing is wanted, or everything is as wanted.
    #[error("there is nothing to do: everything is already as wanted")]
    Nothing,
    /// An entry that is to be taken back does not exist.
    #[error("there is no entry {0} in this journal")]
    NoEntry(EntryNumber),
    /// An entry that is to be taken back altered nothing.
    #[error("entry {0} altered nothing that could be put back")]
    NothingIn(EntryNumber),
    /// An entry that is to be taken back was corrected as never made.
    #[error("entry {entry} was never made, says correction {correction}: there is nothing to put back")]
    NeverMade {
        /// The entry.
        entry: EntryNumber,
        /// The correction.
        correction: EntryNumber,
    },
    /// Later entries changed the same fields again.
    #[error("later entries changed the same settings again")]
    Blocked(Vec<Blocker>),
    /// The content as found is not known, so there would be no way back.
    #[error("no way back: {} as found is not known", fields(.0))]
    NoWayBack(Vec<Field>),
    /// What the user tells as found is not what the journal has.
    #[error("the journal has {known} for {field}, not {told}")]
    OtherThanKnown {
        /// The field, or the record.
        field: String,
        /// What the journal has.
        known: String,
        /// What was told.
        told: String,
    },
    /// Two definitions fit a module.
    #[error("{module}: {source}")]
    TwoDefinitions {
        /// The module.
        module: ModuleName,
        /// The definitions.
        #[source]
        source: AmbiguousDefinition,
    },
    /// A value or content cannot be written.
    #[error("{field} cannot be set: {why}")]
    CannotSet {
        /// The field, or the record.
        field: String,
        /// Why.
        why: String,
    },
    /// Bytes for a record have another length than the record.
    #[error("{module} record {record} has {expected} bytes, {found} were given")]
    Length {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
        /// The record's length.
        expected: usize,
        /// What was given.
        found: usize,
    },
    /// Nobody knows what is there: a step of earlier work was left in doubt, and it was not read since.
    #[error("nobody knows what {} holds", open(.0))]
    InDoubt(Vec<OpenStep>),
    /// The wanted state breaks rules that hold now.
    #[error("it would break a rule between settings")]
    BreaksRules(Vec<RuleBreach>),
    /// No safe order exists.
    #[error("no safe order was found: every one breaks a rule on the way")]
    Knot(RuleCycle),
}

fn fields(fields: &[Field]) -> String {
    fields.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

fn open(steps: &[OpenStep]) -> String {
    let one = |open: &OpenStep| format!("{} ({} in entry {})", open.place, open.outcome, open.entry);
    steps.iter().map(one).collect::<Vec<_>>().join(", ")
}

impl PlanRefusal {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        Some(match self {
            Self::NoWayBack(_) => {
                "read the record first, tell the value with `--was`, or say `--one-way` if it may be lost".into()
            }
            Self::InDoubt(_) => "read it first, and file the reading: `asfound read TAG FILE --partial`".into(),
            Self::Blocked(blockers) => {
                let numbers: std::collections::BTreeSet<_> =
                    blockers.iter().flat_map(|b| b.in_the_way.iter().map(|n| n.get())).collect();
                let list = numbers.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ");
                format!(
                    "put {list} back too, keep the present value with `--keep SETTING`, or choose one with `--choose SETTING=VALUE`"
                )
            }
            Self::OtherThanKnown { .. } => {
                "if the vehicle really says otherwise, file a reading first: another hand may have been there".into()
            }
            Self::BreaksRules(_) => "alter the other settings of the rule together with it, in one command".into(),
            Self::TwoDefinitions { .. } => "narrow `applies_to` in one of them".into(),
            Self::Knot(cycle) if !cycle.allow.is_empty() => {
                cycle.allow.iter().map(ToString::to_string).collect::<Vec<_>>().join(", or ")
            }
            _ => return None,
        })
    }
}
