//! Plans in files: what was wished, what it stood on, and the steps for whoever carries them out elsewhere.
//!
//! The wish is what counts: the steps are worked out anew from it whenever the plan is used. A plan whose fields the
//! journal has moved since is not used at all.

mod changes_since;
mod parse;
mod parse_step;
mod step;
mod text;
mod wish;

use std::collections::BTreeSet;

use sha2::{Digest, Sha256};
use time::OffsetDateTime;

use crate::definition::DefinitionSet;
use crate::entry::{Acknowledgement, PlanId};
use crate::history::{Field, History};
use crate::names::{EntryNumber, SettingPath, Tag};
use crate::plan::{Plan, PlanRefusal, Targets};

pub(super) use changes_since::content;
pub use changes_since::{ChangedField, ChangesSince, NotThisJournal};
pub use step::{Mismatch, SavedSetting, SavedStep, SavedWrite, StatedContent, StatedContentError};
pub use wish::{ChangeWish, Wish};

/// The version of plan files that this program writes and reads.
pub const PLAN_FORMAT: &str = "asfound-plan/1";

/// A plan that was saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SavedPlan {
    /// Tells it from other plans.
    pub id: PlanId,
    /// The vehicle.
    pub vehicle: Tag,
    /// When it was made.
    pub made: OffsetDateTime,
    /// The last entry that the journal had then.
    pub stands_on: EntryNumber,
    /// What it is for.
    pub wish: Wish,
    /// Settings that may be altered for a time though nothing is wished of them.
    pub for_a_time: BTreeSet<SettingPath>,
    /// The acknowledgements of restricted systems with which it was made.
    pub acknowledgements: Vec<Acknowledgement>,
    /// The fields that it touches, those that were as wanted already included.
    pub fields: Vec<Field>,
    /// The steps as they were then.
    pub steps: Vec<SavedStep>,
}

impl SavedPlan {
    /// A plan as it is saved; the fields are all that its steps alter and all that were wished for. Its id is the beginning of
    /// the SHA-256 of its text with an id of zeros: two plans that are the same to the letter are one.
    pub fn new(
        (vehicle, made): (Tag, OffsetDateTime),
        wish: Wish,
        acknowledgements: Vec<Acknowledgement>,
        (targets, plan): (&Targets<'_>, &Plan),
    ) -> Self {
        let mut fields: BTreeSet<Field> = targets.fields().cloned().collect();
        for ((module, record), bytes) in &targets.records {
            fields.insert(changes_since::whole(module, record, bytes.len()));
        }
        for step in &plan.steps {
            for setting in &step.settings {
                let (module, setting) = (step.module.clone(), setting.setting.clone());
                fields.insert(Field::Setting(SettingPath { module, setting }));
            }
        }
        let mut saved = Self {
            id: PlanId::of_digest([0; 8]),
            vehicle,
            made,
            stands_on: plan.stands_on,
            wish,
            for_a_time: targets.spare.clone(),
            acknowledgements,
            fields: fields.into_iter().collect(),
            steps: plan.steps.iter().map(SavedStep::of).collect(),
        };
        let digest = Sha256::digest(saved.to_text());
        saved.id = PlanId::of_digest(std::array::from_fn(|at| digest[at]));
        saved
    }

    /// The targets, worked out against the journal as it is now; `own` as [`Self::own`] tells.
    ///
    /// # Errors
    /// Why the wish cannot be turned into targets.
    pub fn targets<'h>(
        &self,
        history: &'h History,
        definitions: &DefinitionSet,
        own: &BTreeSet<EntryNumber>,
    ) -> Result<Targets<'h>, PlanRefusal> {
        let mut targets = self.wish.targets(history, definitions, self.stands_on, own)?;
        self.for_a_time.iter().for_each(|path| targets.allow_for_a_time(path.clone()));
        Ok(targets)
    }
}
