//! Plans: what brings a vehicle from what it is to what is wanted, step by step.

mod care;
mod clearance;
mod compose;
mod composition;
mod correcting;
mod correcting_moment;
mod draft;
mod headline;
mod late;
mod match_other;
mod naming;
mod open_steps;
mod preview;
mod progress;
mod refusal;
mod request;
mod rules;
mod saved;
mod sequencing;
mod sheet_code;
mod sheet_difference;
mod step;
mod target;
mod unacknowledged;
mod undone;
mod wish;
mod work;
mod writing;

pub use care::restricted_systems;
pub use clearance::{AcknowledgementMissing, Clearance, acknowledge};
pub use compose::{BlockedField, Plan, plan};
pub use correcting::{corrected, never_made};
pub use correcting_moment::moment_corrected;
pub use headline::{HeadlineParts, headline};
pub use match_other::match_other;
pub use naming::NamedSetting;
pub use open_steps::open_steps_about;
pub use preview::{ExpectedChange, Preview, STALE_AFTER_MONTHS, age_in_words, months_between, preview};
pub use progress::{Event, EventError, GuidedRun, GuidedRunError, NextAction};
pub use refusal::{Allowance, Blocker, PlanRefusal, RuleCycle};
pub use request::{read_request, write_request};
pub use rules::{RuleBook, RuleBreach};
pub use saved::{
    ChangeWish, ChangedField, ChangesSince, Mismatch, NotThisJournal, PLAN_FORMAT, SavedPlan, SavedSetting, SavedStep,
    SavedWrite, StatedContent, StatedContentError, Wish,
};
pub use sheet_code::{SheetCode, SheetCodeError};
pub use sheet_difference::{SheetDifference, is_rest_of, sheet_differences};
pub use step::{Intermediate, Step, StepSetting, Write};
pub use target::Targets;
pub use unacknowledged::unacknowledged;
pub use wish::{PutBackWish, put_back, return_to};
