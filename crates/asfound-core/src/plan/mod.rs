//! Plans: what brings a vehicle from what it is to what is wanted, step by step.

mod care;
mod compose;
mod composition;
mod draft;
mod like;
mod order;
mod refusal;
mod rules;
mod standing;
mod step;
mod target;
mod wish;
mod work;
mod writing;

pub use compose::{Blocked, Plan, plan};
pub use like::like;
pub use refusal::{Allowance, Blocker, Knot, PlanRefusal};
pub use rules::{RuleBook, RuleBreach};
pub use step::{Intermediate, Step, StepSetting, Write};
pub use target::Targets;
pub use wish::{PutBackWish, put_back, return_to};
pub use work::{AcknowledgementMissing, acknowledge};
