//! Turns a plan that was carried out into what its entry holds.

use thiserror::Error;

use super::compose::Plan;
use super::step::Write;
use crate::entry::{Acknowledgement, Effects, RecordEffect, StatedEffect, WorkBody};
use crate::names::SettingPath;
use crate::safety::SafetyTag;

/// A restricted system that nobody has acknowledged.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the work touches a restricted system ({}) and nobody has acknowledged it", tags(.0))]
pub struct AcknowledgementMissing(pub Vec<SafetyTag>);

fn tags(tags: &[SafetyTag]) -> String {
    tags.iter().map(|tag| tag.as_str()).collect::<Vec<_>>().join(", ")
}

/// Holds the acknowledgements against the restricted steps of a plan. One without name or grounds counts for nothing.
///
/// # Errors
/// The restricted tags that nobody has acknowledged.
pub fn acknowledge(plan: &Plan, acknowledgements: &[Acknowledgement]) -> Result<(), AcknowledgementMissing> {
    let mut missing: Vec<SafetyTag> = plan.steps.iter().flat_map(|step| step.restricted.iter().copied()).collect();
    let good = |given: &Acknowledgement| !given.name.trim().is_empty() && !given.grounds.trim().is_empty();
    missing.retain(|tag| !acknowledgements.iter().any(|given| given.tag == *tag && good(given)));
    missing.sort();
    missing.dedup();
    if missing.is_empty() { Ok(()) } else { Err(AcknowledgementMissing(missing)) }
}

impl Plan {
    /// What the entry holds once every step was made.
    pub fn work(&self, acknowledgements: Vec<Acknowledgement>) -> WorkBody {
        let mut work = WorkBody { acknowledgements, ..WorkBody::default() };
        for step in &self.steps {
            work.settings.extend(
                step.settings
                    .iter()
                    .map(|setting| SettingPath { module: step.module.clone(), setting: setting.setting.clone() }),
            );
            work.one_way |= add(&mut work.effects, step);
        }
        work.settings.sort();
        work
    }
}

/// Adds what a step brings about; tells whether there is no way back.
pub(super) fn add(effects: &mut Effects, step: &super::Step) -> bool {
    let module = step.module.clone();
    match &step.write {
        Write::Record { record, expect, write, .. } => {
            let (record, found, left) = (record.clone(), Some(expect.clone()), write.clone());
            effects.records.push(RecordEffect { module, record, found, left });
            false
        }
        Write::BlindRecord { record, expect, write } => {
            let (record, found, left) = (record.clone(), expect.clone(), write.clone());
            let one_way = found.is_none();
            effects.records.push(RecordEffect { module, record, found, left });
            one_way
        }
        Write::ByName { setting, expect, write } => {
            let (setting, found, left) = (setting.clone(), expect.clone(), Some(write.clone()));
            let one_way = found.is_none();
            effects.stated.push(StatedEffect { module, setting, found, left });
            one_way
        }
    }
}
