//! What an entry holds after a walk: what was made, what was not, and what nobody knows.

use std::collections::BTreeSet;

use super::GuidedRun;
use super::guided_run::{StepPhase, StepStatus};
use crate::definition::DefinitionSet;
use crate::difference::differ;
use crate::entry::{Effects, RecordEffect, StatedEffect, StepOutcome, StepPlace, StepReport, WorkBody};
use crate::history::Field;
use crate::names::SettingPath;
use crate::plan::clearance::acknowledged;
use crate::plan::saved::content;
use crate::plan::{AcknowledgementMissing, SavedPlan, SavedStep, SavedWrite, StatedContent};
use crate::safety::SafetyTag;
use crate::state::State;

impl GuidedRun {
    /// What became of each step, in their order.
    pub fn outcomes(&self) -> Vec<StepReport> {
        let pairs = self.steps.iter().zip(&self.standings);
        pairs.map(|(step, standing)| standing.done(step)).collect()
    }

    /// Whether there is something to file: a step was made, or may have been.
    pub fn has_something_to_tell(&self) -> bool {
        self.standings.iter().any(|standing| standing.outcome() != StepOutcome::NotMade)
    }

    /// The first step that is not made yet and whose record or setting the journal has as something else than the plan
    /// expects: a later entry moved it, so that the walk cannot go on.
    pub fn overtaken(&self, state: &State, definitions: &DefinitionSet) -> Option<(usize, StepPlace)> {
        let mut seen = BTreeSet::new();
        let pairs = self.steps.iter().zip(&self.standings).enumerate();
        // Of several steps in one place, only the first to be made finds what the journal has.
        let mut open = pairs.filter(|(_, (step, _))| seen.insert(step.place()));
        open.find_map(|(at, (step, standing))| {
            let known = match &step.write {
                SavedWrite::Record { record, .. } => {
                    state.record(&step.module, record).map(|known| StatedContent::Bytes(known.bytes.clone()))
                }
                SavedWrite::Setting { setting, .. } => {
                    let field = Field::Setting(path(step, setting.clone()));
                    content(state, definitions, &field).map(|known| StatedContent::Value(known.to_string()))
                }
            };
            let moved = standing.phase != StepPhase::Done && !stands(step, step.expected(), known);
            moved.then(|| (at + 1, step.place()))
        })
    }

    /// What the entry of this walk holds: the effects of steps that were made, or that were read back otherwise than
    /// before and than wanted; and what became of each step.
    ///
    /// `state` is what the journal says at that moment. Where a later reading has moved a record or setting since the
    /// plan was worked out, that reading stands, and the step has no effect of its own.
    ///
    /// # Errors
    /// When a restricted step was made, or may have been, that the plan's acknowledgements do not cover.
    pub fn work(
        &self,
        plan: &SavedPlan,
        run: u32,
        state: &State,
        definitions: &DefinitionSet,
    ) -> Result<WorkBody, AcknowledgementMissing> {
        let steps = self.outcomes();
        let pairs = self.steps.iter().zip(&steps).filter(|(_, done)| done.outcome != StepOutcome::NotMade);
        let touched: BTreeSet<SafetyTag> = pairs.flat_map(|(step, _)| step.restricted.iter().copied()).collect();
        acknowledged(touched.iter().copied(), &plan.acknowledgements)?;
        let acknowledgements = plan.acknowledgements.iter().filter(|given| touched.contains(&given.tag));
        let acknowledgements = acknowledgements.cloned().collect();
        let mut work =
            WorkBody { plan: Some(plan.id.clone()), run: Some(run), acknowledgements, ..WorkBody::default() };
        for (step, standing) in self.steps.iter().zip(&self.standings) {
            standing.bring_about(step, state, definitions, &mut work);
        }
        // What was altered for a time only has come back.
        work.effects.records.retain(|effect| effect.found.as_ref() != Some(&effect.left));
        work.effects.stated.retain(|effect| effect.found.is_none() || effect.found != effect.left);
        work.one_way = work.effects.records.iter().any(|effect| effect.found.is_none())
            || work.effects.stated.iter().any(|effect| effect.found.is_none());
        work.settings = self.altered(&work.effects, definitions).into_iter().collect();
        work.steps = steps;
        Ok(work)
    }

    /// The settings that effects alter.
    fn altered(&self, effects: &Effects, definitions: &DefinitionSet) -> BTreeSet<SettingPath> {
        let mut altered = BTreeSet::new();
        for effect in &effects.records {
            let place = StepPlace::Record(effect.module.clone(), effect.record.clone());
            for step in self.steps.iter().filter(|step| step.place() == place) {
                if let Some(found) = &effect.found {
                    let definition = step.definition.as_ref().and_then(|id| definitions.get(id));
                    let difference = differ(&effect.record, definition, found.as_slice(), effect.left.as_slice());
                    altered.extend(difference.settings.into_iter().map(|one| path(step, one.setting)));
                } else {
                    altered.extend(step.settings.iter().map(|it| path(step, it.setting.clone())));
                }
            }
        }
        let stated = effects.stated.iter();
        altered.extend(
            stated.map(|effect| SettingPath { module: effect.module.clone(), setting: effect.setting.clone() }),
        );
        altered
    }
}

impl StepStatus {
    fn outcome(&self) -> StepOutcome {
        match self.phase {
            StepPhase::Done if self.read_back.is_some() => StepOutcome::ReadBackAsWanted,
            StepPhase::Done | StepPhase::Written => StepOutcome::Made,
            StepPhase::Otherwise => StepOutcome::ReadBackOtherwise,
            StepPhase::Asked | StepPhase::Refused | StepPhase::Unanswered => StepOutcome::InDoubt,
            StepPhase::Look | StepPhase::Unexpected | StepPhase::Ready if self.unsure => StepOutcome::InDoubt,
            StepPhase::Look | StepPhase::Unexpected | StepPhase::Ready => StepOutcome::NotMade,
        }
    }

    fn done(&self, step: &SavedStep) -> StepReport {
        let (record, setting) = match &step.write {
            SavedWrite::Record { record, .. } => (Some(record.clone()), None),
            SavedWrite::Setting { setting, .. } => (None, Some(setting.clone())),
        };
        let text = |said: &Option<StatedContent>| said.as_ref().map(ToString::to_string);
        StepReport {
            module: step.module.clone(),
            record,
            setting,
            outcome: self.outcome(),
            found: text(&self.found),
            write: text(&self.wrote),
            answer: self.answer.clone(),
            read_back: text(&self.read_back),
        }
    }

    /// What the step has left in the vehicle, where that is another thing than before.
    fn left(&self, step: &SavedStep) -> Option<StatedContent> {
        match (self.outcome(), &self.read_back) {
            (outcome, _) if outcome.is_made() => Some(step.wanted()),
            (StepOutcome::ReadBackOtherwise, Some(said)) if !self.is_before(step, said) => Some(said.clone()),
            _ => None,
        }
    }

    /// Whether what was read is what the journal has from before the step.
    fn is_before(&self, step: &SavedStep, said: &StatedContent) -> bool {
        match step.expected() {
            Some(expected) => step.difference(&expected, said).is_none(),
            None => self.wrote.is_some() && self.is_as_before(step, said),
        }
    }

    fn bring_about(&self, step: &SavedStep, state: &State, definitions: &DefinitionSet, work: &mut WorkBody) {
        let Some(left) = self.left(step) else { return };
        // What was found before anything was written; a doubtful step is found as it was left.
        let found = self.found.clone().filter(|_| self.wrote.is_some());
        match (&step.write, left) {
            (SavedWrite::Record { record, expect, .. }, StatedContent::Bytes(left)) => {
                let earlier = work.effects.records.iter().position(|e| e.module == step.module && e.record == *record);
                if let Some(earlier) = earlier {
                    work.effects.records[earlier].left = left;
                    return;
                }
                let known = state.record(&step.module, record).map(|known| known.bytes.clone());
                if !stands(step, expect.clone().map(StatedContent::Bytes), known.clone().map(StatedContent::Bytes)) {
                    return;
                }
                let told = match found {
                    Some(StatedContent::Bytes(found)) => Some(found),
                    _ => None,
                };
                let found = known.or_else(|| expect.clone()).or(told);
                let (module, record) = (step.module.clone(), record.clone());
                work.effects.records.push(RecordEffect { module, record, found, left });
            }
            (SavedWrite::Setting { setting, expect, .. }, StatedContent::Value(left)) => {
                let module = step.module.clone();
                let earlier = work.effects.stated.iter_mut().find(|e| e.module == module && e.setting == *setting);
                if let Some(earlier) = earlier {
                    earlier.left = Some(left);
                    return;
                }
                let known = content(state, definitions, &Field::Setting(path(step, setting.clone())));
                if !stands(
                    step,
                    expect.clone().map(StatedContent::Value),
                    known.map(|known| StatedContent::Value(known.to_string())),
                ) {
                    return;
                }
                let told = found.map(|found| found.to_string());
                let stated = state.module(&module).and_then(|known| known.stated.get(setting));
                let found = stated.map(|known| known.value.clone()).or_else(|| expect.clone()).or(told);
                let setting = setting.clone();
                work.effects.stated.push(StatedEffect { module, setting, found, left: Some(left) });
            }
            _ => {}
        }
    }
}

/// Whether the journal still has what the step expected.
fn stands(step: &SavedStep, expected: Option<StatedContent>, known: Option<StatedContent>) -> bool {
    match (expected, known) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(expected), Some(known)) => step.difference(&expected, &known).is_none(),
    }
}

fn path(step: &SavedStep, setting: crate::names::SettingName) -> SettingPath {
    SettingPath { module: step.module.clone(), setting }
}
