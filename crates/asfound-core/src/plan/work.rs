//! Turns a plan that was carried out into what its entry holds.

use std::collections::{BTreeMap, BTreeSet};

use super::clearance::Clearance;
use super::compose::Plan;
use super::step::Write;
use crate::difference::Content;
use crate::entry::{Effects, RecordEffect, StatedEffect, WorkBody};
use crate::names::SettingPath;

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
}

impl Clearance<'_> {
    /// What the entry holds once every step of the plan was made.
    pub fn work(self) -> WorkBody {
        let Self { plan, acknowledgements } = self;
        let mut work = WorkBody { acknowledgements, ..WorkBody::default() };
        for step in &plan.steps {
            work.one_way |= add(&mut work.effects, step);
        }
        // What was altered for a time only has come back.
        work.effects.records.retain(|effect| effect.found.as_ref() != Some(&effect.left));
        work.effects.stated.retain(|effect| effect.found.is_none() || effect.found != effect.left);
        let altered = plan.alterations().into_iter();
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
