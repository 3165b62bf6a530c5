//! `asfound/work/1`: what `work` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, EntryHead, Intermediate, Requests};

/// A walk through a saved plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Work {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The plan's id.
    pub plan: String,
    /// Which walk of the plan it is, from 1.
    pub run: u32,
    /// What the plan is for, in a few words.
    pub aim: String,
    /// The last entry that the journal had when the walk began.
    pub stands_on: u32,
    /// The steps, in the order in which they are made.
    pub steps: Vec<WalkedStep>,
    /// What is asked next; nothing when the walk is over.
    pub next: Option<Asked>,
    /// The entry that was filed; nothing while the walk goes on, or where there was nothing to file.
    pub entry: Option<EntryHead>,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WalkedStep {
    /// Its number, from 1.
    pub number: usize,
    /// The module.
    pub module: String,
    /// Its diagnostic address, where known.
    pub address: Option<String>,
    /// The record; nothing for a setting set by name.
    pub record: Option<String>,
    /// The setting that is set by name; nothing for a record.
    pub setting: Option<String>,
    /// What is to be found before; nothing when that is not known.
    pub expect: Option<String>,
    /// What is to be written and found afterwards.
    pub write: String,
    /// Bits that change by themselves, in words.
    pub volatile_bits: String,
    /// The requests that read and write it; nothing where there is no data identifier.
    pub requests: Option<Requests>,
    /// `routine`, `caution`, `not-known` or `restricted`.
    pub class: String,
    /// Cautions.
    pub cautions: Vec<String>,
    /// Where the step leaves something that is not yet what is wanted: why. A later step brings that about.
    pub intermediate: Option<Intermediate>,
    /// What else is to be known of the step before it is made.
    pub remarks: Vec<String>,
    /// `read-back-as-wanted`, `made`, `read-back-otherwise`, `in-doubt` or `not-made`.
    pub outcome: String,
    /// What was read before.
    pub found: Option<String>,
    /// What the module answered in place of accepting the write.
    pub answer: Option<String>,
    /// What was read last afterwards.
    pub read_back: Option<String>,
}

/// What is asked next.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// `found`, `found-first`, `found-again`, `written`, `read-back`, `read-back-again` or `why`.
    pub ask: String,
    /// The step that it is about; nothing for `why`.
    pub step: Option<usize>,
    /// What is to be written, bits that change by themselves as they were found.
    pub write: Option<String>,
    /// The request that writes it; nothing where there is no data identifier.
    pub request: Option<String>,
    /// What is not as it should be.
    pub unlike: Option<Unlike>,
}

/// Something that is not as it should be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unlike {
    /// What it should be.
    pub wanted: String,
    /// What it is.
    pub said: String,
    /// The bits in which that differs, in words; empty for a value.
    pub bits: String,
}

impl Answer for Work {
    const SCHEMA: &'static str = "asfound/work/1";
    fn check(&self) {
        for (at, step) in self.steps.iter().enumerate() {
            assert_eq!(step.number, at + 1);
            assert!(step.record.is_some() != step.setting.is_some(), "{step:?}");
        }
        assert!(self.entry.is_none() || self.next.is_none(), "what is filed is over");
    }
}
