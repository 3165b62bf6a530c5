//! `asfound/plan/1`: what `change --preview`, `put-back`, `return-to`, `match` and `plan show` answer.

use serde::{Deserialize, Serialize};

use super::{Answer, Content, OpenStep, fields_rising, rising};

/// A plan that was shown and not filed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanSheet {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// What the plan is for, in a few words.
    pub aim: String,
    /// The code of the sheet, for `--sheet`; nothing where nothing is to be done.
    pub sheet: Option<String>,
    /// The open steps about what it writes to, by module and record.
    pub in_doubt: Vec<OpenStep>,
    /// The plan.
    pub plan: Plan,
    /// What becomes of each field, in the order of the steps; those that are as wanted come last.
    pub preview: Vec<Preview>,
    /// From which age on a reading does not tell any more what is in the vehicle.
    pub stale_after_months: u32,
    /// The file that holds the plan, where it is saved.
    pub saved: Option<String>,
    /// The restricted systems, by tag, that somebody has to acknowledge before it is carried out or filed.
    pub acknowledgements_missing: Vec<String>,
    /// What else is worth knowing.
    pub remarks: Vec<String>,
}

/// What becomes of one field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Preview {
    /// The field.
    pub field: String,
    /// What it holds; nothing when that is not known.
    pub found: Option<Content>,
    /// What it is to hold.
    pub left: Option<Content>,
    /// `will-change`, `as-wanted`, `for-a-time` (it is altered on the way and comes back) or `cannot-tell`.
    pub outlook: String,
    /// The last reading, where it is too old to tell.
    pub last_read: Option<LastRead>,
}

/// A reading that is too old to tell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LastRead {
    /// Its entry.
    pub entry: u32,
    /// When it was taken (RFC 3339).
    pub taken: String,
    /// How long ago that was, in words.
    pub age: String,
}

/// The requests of ISO 14229-1 that a step stands for, in hexadecimal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Requests {
    /// Reads the record.
    pub read: String,
    /// Writes it.
    pub write: String,
}

/// A plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// The entry on which it stands: when another one follows, plan again.
    pub stands_on: u32,
    /// The steps, in the order in which they are to be made.
    pub steps: Vec<Step>,
    /// Fields that are as wanted already: settings by name, then undeclared bits.
    pub settled: Vec<String>,
    /// Fields that cannot be brought to what is wanted.
    pub blocked: Vec<Blocked>,
    /// Rules between settings that are broken already.
    pub rules_broken_before: Vec<BrokenRule>,
    /// The cautions that belong to every piece of work.
    pub cautions: Vec<String>,
}

/// One write.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// The module.
    pub module: String,
    /// Its diagnostic address, where it is known.
    pub address: Option<String>,
    /// What is written.
    pub write: Write,
    /// The requests that read and write it; nothing where there is no data identifier.
    pub requests: Option<Requests>,
    /// The settings that it alters, by name.
    pub settings: Vec<StepSetting>,
    /// The bits it alters that no definition names, in words; empty when there are none.
    pub undeclared_bits: String,
    /// `routine`, `caution`, `not-known` or `restricted`.
    pub class: String,
    /// The restricted systems that it touches, by tag.
    pub restricted: Vec<String>,
    /// Cautions, those of the settings first.
    pub cautions: Vec<String>,
    /// The definition that explains the record.
    pub definition: Option<String>,
    /// Where the step leaves something that is not yet what is wanted: why. A later step brings that about.
    pub intermediate: Option<Intermediate>,
    /// What else is to be known of the step before it is made.
    pub remarks: Vec<String>,
}

/// Why a record is written more than once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Intermediate {
    /// The rules between settings because of which it cannot be written in one go.
    pub rules: Vec<String>,
    /// Settings of the module that hold for a time a value which they neither held nor are to hold.
    pub for_a_time: Vec<String>,
}

/// What a step writes: compare with `expect`, write, read back, compare with `verify`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Write {
    /// The record, in which case the other members are hexadecimal; nothing for a setting set by name.
    pub record: Option<String>,
    /// The setting that is set by name; nothing for a record.
    pub setting: Option<String>,
    /// What is to be found before; nothing when it is not known.
    pub expect: Option<String>,
    /// What is to be written.
    pub write: String,
    /// What is to be found afterwards.
    pub verify: String,
    /// Bits that change by themselves and are left out of both comparisons, in words.
    pub volatile_bits: String,
}

/// A setting that a step alters.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepSetting {
    /// The setting, by its full name.
    pub setting: String,
    /// Its label, where a definition gives one.
    pub label: Option<String>,
    /// What it holds; nothing when that is not known.
    pub found: Option<Content>,
    /// What it will hold.
    pub left: Content,
}

/// A field that cannot be brought to what is wanted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Blocked {
    /// The field.
    pub field: String,
    /// Why.
    pub why: String,
}

/// A rule that is broken already.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BrokenRule {
    /// Its name.
    pub rule: String,
    /// Why it is one.
    pub because: String,
}

impl Plan {
    /// How its arrays are sorted.
    #[track_caller]
    pub fn check(&self) {
        fields_rising("settled fields", &self.settled, |field| field);
        for step in &self.steps {
            rising("settings of a step", &step.settings, |setting| setting.setting.clone());
            rising("restricted systems of a step", &step.restricted, Clone::clone);
            assert_eq!(step.write.write, step.write.verify);
            assert!(step.write.record.is_some() != step.write.setting.is_some(), "{step:?}");
        }
    }
}

impl Answer for PlanSheet {
    const SCHEMA: &'static str = "asfound/plan/1";
    fn check(&self) {
        self.plan.check();
    }
}
