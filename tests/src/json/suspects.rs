//! `asfound/suspects/1`: what `suspects TAG CODE` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Circumstance, Description};

/// What may have to do with a trouble code.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Suspects {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The code.
    pub code: String,
    /// The module that has it.
    pub module: String,
    /// System and issuer, with the area where there is one; nothing for another code system.
    pub structure: Option<String>,
    /// What a loaded table says of it.
    pub description: Option<Description>,
    /// The last reading that scanned the module and did not find the code.
    pub last_without: Option<u32>,
    /// The first reading that found it.
    pub first_with: u32,
    /// The last reading that scanned the module.
    pub last_scan: u32,
    /// Whether that found the code.
    pub still_there: bool,
    /// Safety tags of systems for which a technician should look before anything is tried.
    pub technician_first: Vec<String>,
    /// What is to be looked at before anything that was altered.
    pub common_circumstance: Option<Circumstance>,
    /// What speaks against the code as it was first read, in words.
    pub implausible: Vec<String>,
    /// The suspects, strongest first; empty when nothing was altered in the window.
    pub suspects: Vec<Suspect>,
    /// How far the code is narrowed down.
    pub narrowing: Narrowing,
}

/// An entry that came in the window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Suspect {
    /// The entry.
    pub entry: u32,
    /// `work`, or `unexplained` for a difference that nobody recorded.
    pub kind: String,
    /// What it tells, in one line.
    pub headline: String,
    /// When it happened (RFC 3339).
    pub happened: String,
    /// The sum of reasons and evidence, never below zero.
    pub score: u32,
    /// Why it is suspected, largest first.
    pub reasons: Vec<Points>,
    /// What the rounds say for and against it, in their order.
    pub evidence: Vec<Points>,
    /// Why it is not experimented with, in words; nothing where it is.
    pub not_tried: Option<String>,
}

/// What adds to a score.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Points {
    /// How much; less than nothing where it speaks against.
    pub points: i32,
    /// Why.
    pub why: String,
}

/// How far a code is narrowed down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Narrowing {
    /// The rounds so far, oldest first.
    pub rounds: Vec<Round>,
    /// `open` while nothing is probable, `one` entry, a `pair` or more `together`, `either` of two by itself, or `none`.
    pub finding: String,
    /// The entries that the finding names, in order.
    pub named: Vec<u32>,
    /// The same in sets: the code goes with all of a set together, and with each set by itself.
    pub sets: Vec<Vec<u32>>,
    /// Whether the finding is certain, but for a chance of 1 in 100: what is named was alone out and alone in. Until then it
    /// is probable.
    pub confirmed: bool,
    /// What is to be seen before the finding is certain; empty while nothing is probable.
    pub watched: Vec<Watched>,
    /// On which part of all drives a second cause must show at least so that it would have been noticed, as decimal text.
    pub noticed_from: Option<String>,
    /// What is still held possible, the most likely first; hardly likely ones are left out.
    pub possible: Vec<Possible>,
    /// The entries that are not experimented with, in order.
    pub not_tried: Vec<u32>,
    /// How many drives are to be expected until the finding is certain, if the code shows on every drive, as decimal text;
    /// nothing where there are too many suspects to work it out.
    pub expected_drives: Option<String>,
    /// The fewest drives that can be enough on average, if the code shows on every drive, as decimal text.
    pub least_drives: String,
    /// The next round, with `--next`.
    pub next: Option<ProposedRound>,
    /// The command that files it once it is done; nothing where nothing has to be put back.
    pub file_with: Option<String>,
    /// The other half instead, where it has a safe plan.
    pub other_half: Option<ProposedRound>,
    /// Why there is no next round though something is open.
    pub stopped: Option<String>,
}

/// What is to be seen before a finding is certain.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Watched {
    /// The suspects that are in, of those that are experimented with.
    pub suspects_in: Vec<u32>,
    /// The suspects that are out.
    pub suspects_out: Vec<u32>,
    /// `comes-back` or `stays-away`: what the code has to do.
    pub code: String,
    /// On how many drives it did.
    pub seen: u32,
    /// On how many drives that was looked at.
    pub drives: u32,
    /// On how many it has to.
    pub needed: u32,
}

/// What may stand behind the code.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Possible {
    /// Entries that bring it together; each set by itself. An empty set is something else than the entries.
    pub sets: Vec<Vec<u32>>,
    /// How likely it is held, as decimal text.
    pub likelihood: String,
}

/// One round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Round {
    /// The last work before the scan.
    pub work: u32,
    /// The reading that scanned the module.
    pub reading: u32,
    /// The suspects that were out.
    pub out: Vec<u32>,
    /// `came-back`, `stayed-away` or `undecided`.
    pub outcome: String,
    /// Why it is undecided.
    pub why: Option<String>,
}

/// A round that is proposed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ProposedRound {
    /// The suspects that are to be out, in order.
    pub out: Vec<u32>,
    /// The entries to put back for it, in order; earlier rounds may be among them.
    pub put_back: Vec<u32>,
    /// Settings that stay as they are, by name.
    pub keep: Vec<String>,
    /// Settings for which the round says the value, as `module.setting=value`.
    pub choose: Vec<String>,
    /// How many steps the plan has; 0 where the vehicle is as it should be and has only to be driven.
    pub steps: usize,
    /// The command that shows the work sheet; nothing where nothing has to be put back.
    pub command: Option<String>,
}

impl Answer for Suspects {
    const SCHEMA: &'static str = "asfound/suspects/1";
    fn check(&self) {
        assert!(self.suspects.is_sorted_by(|a, b| a.score >= b.score), "{:?}", self.suspects);
        for suspect in &self.suspects {
            let sum: i32 = suspect.reasons.iter().chain(&suspect.evidence).map(|it| it.points).sum();
            assert_eq!(
                i64::from(suspect.score),
                i64::from(sum.max(0)),
                "a score is the sum of what is said: {suspect:?}"
            );
        }
        assert!(self.narrowing.rounds.is_sorted_by_key(|round| round.reading), "{:?}", self.narrowing.rounds);
    }
}
