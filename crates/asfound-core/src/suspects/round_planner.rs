//! The put-back that a round needs.

use std::collections::BTreeSet;

use super::candidates::fields_altered;
use super::narrowing::Parts;
use super::narrowing_state::Proposal;
use super::part::{NotTried, SuspectGroup};
use super::part_state::PartState;
use crate::definition::DefinitionSet;
use crate::difference::Content;
use crate::history::{Field, History};
use crate::names::EntryNumber;
use crate::plan::{Plan, PlanRefusal, PutBackWish, Step, Write, plan, put_back};
use crate::value::Value;

/// Plans rounds.
pub(super) struct RoundPlanner<'a> {
    history: &'a History,
    definitions: &'a DefinitionSet,
    last: EntryNumber,
}

/// A field and the content that a round needs in it, and which entries taken back may lead there.
struct FieldMove<'h> {
    field: &'h Field,
    content: &'h Content,
    back: BTreeSet<EntryNumber>,
}

impl<'a> RoundPlanner<'a> {
    pub(super) fn new(history: &'a History, definitions: &'a DefinitionSet, last: EntryNumber) -> Self {
        Self { history, definitions, last }
    }

    /// Why a part cannot be experimented with as things are.
    pub(super) fn not_tried(&self, part: &SuspectGroup) -> Option<NotTried> {
        let moves = match part.place(self.history, self.last) {
            PartState::Elsewhere => {
                return Some(NotTried::Impossible("somebody altered a part of it since".to_owned()));
            }
            PartState::Out => self.moves(part, true),
            PartState::In | PartState::Between => self.moves(part, false),
        };
        match self.plan_for(&moves) {
            Ok((_, plan)) => restricted(&plan.steps),
            // Together with others it may well be possible.
            Err(MoveRefusal::Plan(PlanRefusal::BreaksRules(_) | PlanRefusal::Knot(_))) => None,
            Err(refused) => Some(NotTried::Impossible(refused.why())),
        }
    }

    /// The plan that brings the parts of `set` in and all others out.
    pub(super) fn proposal(&self, parts: &[SuspectGroup], set: Parts) -> Result<Proposal, String> {
        let free = |at: &usize| parts[*at].not_tried.is_none();
        let inside = |at: usize| set >> at & 1 == 1;
        let elsewhere = (0..parts.len()).filter(free).filter(|at| {
            let place = parts[*at].place(self.history, self.last);
            place != if inside(*at) { PartState::In } else { PartState::Out }
        });
        let moves: Vec<FieldMove<'_>> = elsewhere.flat_map(|at| self.moves(&parts[at], inside(at))).collect();
        let out = (0..parts.len()).filter(free).filter(|at| !inside(*at));
        let out = out.flat_map(|at| parts[at].entries.iter().copied()).collect();
        if moves.is_empty() {
            return Ok(Proposal { out, wish: PutBackWish::default(), plan: None });
        }
        let (wish, plan) = self.plan_for(&moves).map_err(|refused| refused.why())?;
        if let Some(NotTried::Restricted(tags)) = restricted(&plan.steps) {
            let tags: Vec<&str> = tags.iter().map(|tag| tag.as_str()).collect();
            return Err(format!("together they touch a restricted system ({})", tags.join(", ")));
        }
        Ok(Proposal { out, wish, plan: Some(plan) })
    }

    /// What brings a part in, or out.
    fn moves<'p>(&self, part: &'p SuspectGroup, inside: bool) -> Vec<FieldMove<'p>>
    where
        'a: 'p,
    {
        let toggles = part.toggles(self.history);
        toggles
            .map(|toggle| FieldMove {
                field: toggle.field,
                content: if inside { toggle.inside } else { toggle.outside },
                back: if inside { self.last_altered(toggle.field).into_iter().collect() } else { part.entries.clone() },
            })
            .collect()
    }

    /// The wish and the plan for some moves.
    ///
    /// Taking entries back leads to what a field held before them, which after several rounds need not be what the next one
    /// needs, or other entries stand in the way. The wish then says the value.
    fn plan_for(&self, moves: &[FieldMove<'_>]) -> Result<(PutBackWish, Plan), MoveRefusal> {
        let mut by_value: BTreeSet<&Field> = BTreeSet::new();
        loop {
            let wish = self.wish(moves, &by_value)?;
            let planned = put_back(self.history, &wish).and_then(|it| plan(self.history, self.definitions, &it));
            let (missed, refused): (BTreeSet<Field>, MoveRefusal) = match planned {
                Ok(plan) => {
                    if let Some(blocked) = plan.blocked.first() {
                        return Err(MoveRefusal::Field(blocked.field.clone(), blocked.why.clone()));
                    }
                    let missed: Vec<&FieldMove<'_>> = moves.iter().filter(|it| !self.brings(&plan, it)).collect();
                    let Some(first) = missed.first() else { return Ok((wish, plan)) };
                    let why = format!("the plan does not bring it to {}", first.content);
                    let refused = MoveRefusal::Field(first.field.clone(), why);
                    (missed.into_iter().map(|it| it.field.clone()).collect(), refused)
                }
                Err(PlanRefusal::Blocked(blockers)) => {
                    let fields = blockers.iter().map(|blocker| blocker.field.clone()).collect();
                    (fields, MoveRefusal::Plan(PlanRefusal::Blocked(blockers)))
                }
                Err(PlanRefusal::NoWayBack(fields)) => {
                    (fields.iter().cloned().collect(), MoveRefusal::Plan(PlanRefusal::NoWayBack(fields)))
                }
                // Without values nothing may come of it at all.
                Err(PlanRefusal::Nothing) => {
                    (moves.iter().map(|it| it.field.clone()).collect(), MoveRefusal::Plan(PlanRefusal::Nothing))
                }
                Err(refusal) => return Err(MoveRefusal::Plan(refusal)),
            };
            let known = by_value.len();
            by_value.extend(
                moves.iter().filter(|it| missed.contains(it.field) && value(it.content).is_some()).map(|it| it.field),
            );
            if by_value.len() == known {
                return Err(refused);
            }
        }
    }

    /// The wish; what is in `by_value` gets its value said.
    fn wish(&self, moves: &[FieldMove<'_>], by_value: &BTreeSet<&Field>) -> Result<PutBackWish, MoveRefusal> {
        let mut wish = PutBackWish::default();
        for it in moves {
            wish.entries.extend(it.back.iter().copied());
            if let (true, Field::Setting(path), Some(value)) =
                (by_value.contains(it.field), it.field, value(it.content))
            {
                wish.choose.insert(path.clone(), value);
                // Of an entry that has come to nothing no value can be chosen; the last one always stands.
                wish.entries.extend(self.last_altered(it.field));
            }
        }
        let fields: BTreeSet<&Field> = moves.iter().map(|it| it.field).collect();
        for entry in &wish.entries {
            for field in fields_altered(self.history, *entry).filter(|field| !fields.contains(field)) {
                match field {
                    Field::Setting(path) => {
                        wish.keep.insert(path.clone());
                    }
                    Field::Undeclared { .. } => return Err(MoveRefusal::Bits(field.clone())),
                }
            }
        }
        Ok(wish)
    }

    /// The entry that altered a field last.
    fn last_altered(&self, field: &Field) -> Option<EntryNumber> {
        self.history.timeline(field)?.last().map(|step| step.entry)
    }

    /// Whether a plan brings a field to a content, or leaves it there.
    fn brings(&self, plan: &Plan, it: &FieldMove<'_>) -> bool {
        let step = plan.steps.iter().rev().filter(|step| step.module == *it.field.module());
        let left = match it.field {
            Field::Setting(path) => {
                let mut settings = step.flat_map(|step| &step.settings);
                settings.find(|setting| setting.setting == path.setting).map(|setting| setting.left.clone())
            }
            Field::Undeclared { record, mask, .. } => {
                let written = step.filter_map(|step| match &step.write {
                    Write::Record { record, write, .. } | Write::BlindRecord { record, write, .. } => {
                        Some((record, write))
                    }
                    Write::ByName { .. } => None,
                });
                let mut written = written.filter(|(written, _)| *written == record);
                written.next().map(|(_, bytes)| Content::bits(mask, bytes))
            }
        };
        match left {
            Some(left) => left.same(it.content),
            None => {
                self.history.timeline(it.field).and_then(|line| line.current()).is_some_and(|now| now.same(it.content))
            }
        }
    }
}

/// A value that can be chosen for a setting.
fn value(content: &Content) -> Option<Value> {
    match content {
        Content::Stated { text, value: None } => Some(Value::Text(text.clone())),
        Content::Bits { .. } => None,
        content => content.value().cloned(),
    }
}

fn restricted(steps: &[Step]) -> Option<NotTried> {
    let tags: BTreeSet<_> = steps.iter().flat_map(|step| step.restricted.iter().copied()).collect();
    (!tags.is_empty()).then_some(NotTried::Restricted(tags))
}

/// Why parts cannot be moved.
enum MoveRefusal {
    Plan(PlanRefusal),
    Field(Field, String),
    Bits(Field),
}

impl MoveRefusal {
    fn why(&self) -> String {
        match self {
            Self::Plan(refusal) => refusal.to_string(),
            Self::Field(field, why) => format!("{field}: {why}"),
            Self::Bits(field) => format!("{field} would be moved with it"),
        }
    }
}
