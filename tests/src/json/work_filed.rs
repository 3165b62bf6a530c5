//! `asfound/work-filed/1`: what `change`, `put-back --done` and `return-to --done` answer.

use serde::{Deserialize, Serialize};

use super::{Acknowledgement, Answer, EntryHead, Plan, Proof};

/// Work that was filed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkFiled {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The entry.
    pub entry: EntryHead,
    /// How well it is proven: stated, as all work is when it is filed.
    pub proof: Proof,
    /// The plan that was carried out.
    pub plan: Plan,
    /// The acknowledgements of restricted systems, as they were given.
    pub acknowledgements: Option<Vec<Acknowledgement>>,
    /// Whether there is no way back.
    pub one_way: bool,
}

impl Answer for WorkFiled {
    const SCHEMA: &'static str = "asfound/work-filed/1";
    fn check(&self) {
        self.plan.check();
    }
}
