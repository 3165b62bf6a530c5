//! Turns a plan that was carried out into what its entry holds.

use std::collections::{BTreeMap, BTreeSet};

use thiserror::Error;

use super::compose::Plan;
use super::step::Write;
use crate::difference::Content;
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
    /// What all steps together do to each setting, in the order in which they first touch it: what it holds, and what it
    /// will hold in the end, which is the same where it is altered for a time only.
    pub fn alterations(&self) -> Vec<(SettingPath, Option<&Content>, &Content)> {
        let mut altered: Vec<(SettingPath, Option<&Content>, &Content)> = Vec::new();
        let mut places: BTreeMap<SettingPath, usize> = BTreeMap::new();
        for step in &self.steps {
            for setting in &step.settings {
                let path = SettingPath { module: step.module.clone(), setting: setting.setting.clone() };
                match places.get(&path) {
                    Some(place) => altered[*place].2 = &setting.left,
                    None => {
                        places.insert(path.clone(), altered.len());
                        altered.push((path, setting.found.as_ref(), &setting.left));
                    }
                }
            }
        }
        altered
    }

    /// What the entry holds once every step was made.
    pub fn work(&self, acknowledgements: Vec<Acknowledgement>) -> WorkBody {
        let mut work = WorkBody { acknowledgements, ..WorkBody::default() };
        for step in &self.steps {
            work.one_way |= add(&mut work.effects, step);
        }
        // What was altered for a time only has come back.
        work.effects.records.retain(|effect| effect.found.as_ref() != Some(&effect.left));
        work.effects.stated.retain(|effect| effect.found.is_none() || effect.found != effect.left);
        let altered = self.alterations().into_iter();
        let altered = altered.filter(|(_, found, left)| found.is_none_or(|found| !found.same(left)));
        let altered: BTreeSet<SettingPath> = altered.map(|(path, ..)| path).collect();
        work.settings = altered.into_iter().collect();
        work
    }
}

/// Adds what a step brings about; tells whether there is no way back. What a plan writes several times is one alteration.
pub(super) fn add(effects: &mut Effects, step: &super::Step) -> bool {
    let module = step.module.clone();
    match &step.write {
        Write::Record { record, expect, write, .. } => {
            let earlier = effects.records.iter_mut().find(|it| it.module == module && it.record == *record);
            match earlier {
                Some(earlier) => earlier.left = write.clone(),
                None => {
                    let (record, found, left) = (record.clone(), Some(expect.clone()), write.clone());
                    effects.records.push(RecordEffect { module, record, found, left });
                }
            }
            false
        }
        Write::BlindRecord { record, expect, write } => {
            let (record, found, left) = (record.clone(), expect.clone(), write.clone());
            let one_way = found.is_none();
            effects.records.push(RecordEffect { module, record, found, left });
            one_way
        }
        Write::ByName { setting, expect, write } => {
            let earlier = effects.stated.iter_mut().find(|it| it.module == module && it.setting == *setting);
            if let Some(earlier) = earlier {
                earlier.left = Some(write.clone());
                return false;
            }
            let (setting, found, left) = (setting.clone(), expect.clone(), Some(write.clone()));
            let one_way = found.is_none();
            effects.stated.push(StatedEffect { module, setting, found, left });
            one_way
        }
    }
}
