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
mod like;
mod naming;
mod open_steps;
mod order;
mod preview;
mod progress;
mod refusal;
mod request;
mod rules;
mod saved;
mod sheet_code;
mod sheet_difference;
mod standing;
mod step;
mod target;
mod unacknowledged;
mod wish;
mod work;
mod writing;

pub use care::restricted_systems;
pub use clearance::{AcknowledgementMissing, Clearance, acknowledge};
pub use compose::{Blocked, Plan, plan};
pub use correcting::{corrected, never_made};
pub use correcting_moment::moment_corrected;
pub use headline::{Gist, headline};
pub use like::like;
pub use naming::NamedSetting;
pub use open_steps::open_steps_about;
pub use preview::{Outlook, Preview, STALE_AFTER_MONTHS, age_in_words, months_between, preview};
pub use progress::{Event, EventError, Next, Walk, WalkError};
pub use refusal::{Allowance, Blocker, Knot, PlanRefusal};
pub use request::{read_request, write_request};
pub use rules::{RuleBook, RuleBreach};
pub use saved::{
    ChangeWish, Moved, Moving, NotThisJournal, PLAN_FORMAT, Said, SaidError, SavedPlan, SavedSetting, SavedStep,
    SavedWrite, Unlike, Wish,
};
pub use sheet_code::{SheetCode, SheetCodeError};
pub use sheet_difference::{SheetDifference, is_rest_of, sheet_differences};
pub use step::{Intermediate, Step, StepSetting, Write};
pub use target::Targets;
pub use unacknowledged::unacknowledged;
pub use wish::{PutBackWish, put_back, return_to};
