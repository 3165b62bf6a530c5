//! The kinds of entry and what each holds.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;
use time::OffsetDateTime;

use super::{BusLogBody, Effects, OrderNumber, OrderTerms, PlanId, Reason, StepReport, Vehicle};
use crate::identity::Identity;
use crate::moment::Precision;
use crate::names::{EntryNumber, ModuleName, RecordName, SettingName, SettingPath};
use crate::reading::Address;
use crate::safety::SafetyTag;
use crate::situation::Situation;
use crate::trouble_code::ReportedCode;
use crate::value::{Decimal, HexBytes};

/// Why a reading was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ReadingRole {
    /// Before work.
    AsFound,
    /// After work.
    AsLeft,
    /// At any other time.
    Check,
}

/// A word that is no reason for a reading.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid role `{0}` (expected found, left or check)")]
pub struct UnknownReadingRole(String);

impl FromStr for ReadingRole {
    type Err = UnknownReadingRole;
    fn from_str(text: &str) -> Result<Self, UnknownReadingRole> {
        match text {
            "found" | "as-found" => Ok(Self::AsFound),
            "left" | "as-left" => Ok(Self::AsLeft),
            "check" => Ok(Self::Check),
            _ => Err(UnknownReadingRole(text.chars().take(24).collect())),
        }
    }
}

impl fmt::Display for ReadingRole {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::AsFound => "as found",
            Self::AsLeft => "as left",
            Self::Check => "check",
        })
    }
}

/// What a reading covered of one module.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModuleCoverage {
    /// The module's diagnostic address, where the reading gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<Address>,
    /// Records that it gave.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub records: BTreeSet<RecordName>,
    /// Settings that it gave by value alone.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub settings: BTreeSet<SettingName>,
    /// Records that it refused.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub refused: BTreeSet<RecordName>,
    /// Its trouble codes; nothing when it was not scanned for them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trouble_codes: Option<Vec<ReportedCode>>,
}

/// What a reading shows of a module that is not certainly later than what was known when it was filed. It tells of its own
/// moment and moves nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LateContent {
    /// What the module said of itself, where that is not what is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub identity: Option<Identity>,
    /// Records with what they held.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub records: BTreeMap<RecordName, HexBytes>,
    /// Settings given by value alone, with what they held.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub settings: BTreeMap<SettingName, String>,
    /// Records that it refused.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub refused: BTreeSet<RecordName>,
    /// Whether later trouble codes are known of the module.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub trouble_codes: bool,
}

impl LateContent {
    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// A filed reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingBody {
    /// Why it was taken.
    pub role: ReadingRole,
    /// Whether it was said to cover less than earlier ones.
    #[serde(default)]
    pub partial: bool,
    /// Who took it, where that is not the author.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// With what it was taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool: Option<String>,
    /// The odometer, in kilometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odometer_km: Option<u32>,
    /// The supply voltage, in volts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supply_voltage: Option<Decimal>,
    /// In what situation it was taken.
    #[serde(default, skip_serializing_if = "Situation::is_empty")]
    pub situation: Situation,
    /// What it covered.
    #[serde(default)]
    pub covered: BTreeMap<ModuleName, ModuleCoverage>,
    /// What differed from what was known.
    #[serde(default, skip_serializing_if = "Effects::is_empty")]
    pub effects: Effects,
    /// What it shows of which something is known that is later, or may be.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub late: BTreeMap<ModuleName, LateContent>,
}

/// That somebody knows that a restricted system is altered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Acknowledgement {
    /// The kind of system.
    pub tag: SafetyTag,
    /// Who acknowledges it.
    pub name: String,
    /// On what grounds.
    pub grounds: String,
}

/// Work on the vehicle: records written, or settings set by name.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkBody {
    /// The settings that the work was about; other settings in the same records were left.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub settings: Vec<SettingPath>,
    /// Whether it was said that there is no way back, because the content as found is not known.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub one_way: bool,
    /// The saved plan that was carried out, or a part of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plan: Option<PlanId>,
    /// Which walk of that plan it was, counted from 1; nothing where it was filed without walking its steps.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub run: Option<u32>,
    /// What became of each step, where the plan was walked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<StepReport>,
    /// The acknowledgements of restricted systems.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub acknowledgements: Vec<Acknowledgement>,
    /// What was altered.
    #[serde(default, skip_serializing_if = "Effects::is_empty")]
    pub effects: Effects,
    /// What was altered before something that is known already: it tells of its own moment and moves nothing.
    #[serde(default, skip_serializing_if = "Effects::is_empty")]
    pub late: Effects,
}

impl WorkBody {
    /// How much of the plan was carried out, as in `3 of 5 steps`; nothing where that was all of it.
    pub fn part_in_words(&self) -> Option<String> {
        let made = self.steps.iter().filter(|step| step.outcome.is_made()).count();
        (made < self.steps.len()).then(|| {
            let noun = if self.steps.len() == 1 { "step" } else { "steps" };
            format!("{made} of {} {noun}", self.steps.len())
        })
    }
}

/// What a put-back takes back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum PutBackOf {
    /// These entries.
    Entries(Vec<EntryNumber>),
    /// Everything after this entry.
    ReturnTo(EntryNumber),
}

/// What a correction says of an earlier entry, which stays legible.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// The entry that is corrected.
    pub corrects: EntryNumber,
    /// Whether the work in it was never made.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub never_made: bool,
    /// Values as found that the entry should have stated.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub was: BTreeMap<SettingPath, String>,
    /// When what the entry tells of happened, where it should have said so.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "time::serde::rfc3339::option")]
    pub happened: Option<OffsetDateTime>,
    /// How exactly that is known.
    #[serde(default, skip_serializing_if = "Precision::is_second")]
    pub precision: Precision,
    /// The words that the entry should have had as its reason or note.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<Reason>,
    /// What the journal now takes to be in the vehicle instead.
    #[serde(default, skip_serializing_if = "Effects::is_empty")]
    pub effects: Effects,
}

impl Correction {
    /// One that says nothing yet.
    pub fn of(corrects: EntryNumber) -> Self {
        Self {
            corrects,
            never_made: false,
            was: BTreeMap::new(),
            happened: None,
            precision: Precision::Second,
            words: None,
            effects: Effects::default(),
        }
    }
}

/// What an entry holds, by its kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// The journal was started.
    Enrolled(Vehicle),
    /// Modules were read.
    Reading(ReadingBody),
    /// Settings were altered.
    Change(WorkBody),
    /// Earlier alterations were taken back.
    PutBack(PutBackOf, WorkBody),
    /// An earlier entry was wrong.
    Correction(Correction),
    /// Something worth remembering; perhaps about an earlier entry.
    Note(Option<EntryNumber>),
    /// A work order was opened.
    OrderOpened(OrderTerms),
    /// More work was agreed to.
    OrderExtended(OrderTerms),
    /// The work order was closed.
    OrderClosed(OrderNumber),
    /// A log of the bus showed what was done.
    Witness(BusLogBody),
}

impl Body {
    /// The kind as a word.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Enrolled(_) => "enrolled",
            Self::Reading(_) => "reading",
            Self::Change(_) => "change",
            Self::PutBack(..) => "put-back",
            Self::Correction(_) => "correction",
            Self::Note(_) => "note",
            Self::OrderOpened(_) => "order-opened",
            Self::OrderExtended(_) => "order-extended",
            Self::OrderClosed(_) => "order-closed",
            Self::Witness(_) => "witness",
        }
    }

    /// The work in the entry, where it is a change or a put-back.
    pub fn work(&self) -> Option<&WorkBody> {
        match self {
            Self::Change(work) | Self::PutBack(_, work) => Some(work),
            _ => None,
        }
    }

    /// What the entry says has become different, where its kind can say so.
    pub fn effects(&self) -> Option<&Effects> {
        match self {
            Self::Reading(reading) => Some(&reading.effects),
            Self::Change(work) | Self::PutBack(_, work) => Some(&work.effects),
            Self::Correction(correction) => Some(&correction.effects),
            Self::Enrolled(_)
            | Self::Note(_)
            | Self::OrderOpened(_)
            | Self::OrderExtended(_)
            | Self::OrderClosed(_)
            | Self::Witness(_) => None,
        }
    }
}
