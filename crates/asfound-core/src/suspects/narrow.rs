//! From suspects to the next round.

use std::collections::BTreeSet;

use super::narrowing::{Finding, Narrowing, Parts};
use super::part::{NotTried, Part, Place, parts};
use super::round::{Round, inside, take_in};
use super::{Suspicion, candidates::fields_altered};
use crate::definition::DefinitionSet;
use crate::history::{Field, History};
use crate::names::EntryNumber;
use crate::plan::{Plan, PlanRefusal, PutBackWish, Step, plan, put_back};
use crate::trial::Trials;

/// Up to how many parts the expected number of drives is worked out; it takes too long for more.
const WORKED_OUT: usize = 16;

/// How many sets are tried when the best ones have no safe plan.
const TRIED: usize = 32;

/// What is to be put back for a round.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The suspects that are out during the round.
    pub out: BTreeSet<EntryNumber>,
    /// The wish that brings it about: entries to take back, among them earlier rounds, and settings that stay.
    pub wish: PutBackWish,
    /// The plan for it, safe at every step.
    pub plan: Plan,
}

/// How far a code is narrowed down.
#[derive(Debug, Clone)]
pub struct Narrowed {
    /// What is told apart, heaviest first.
    pub parts: Vec<Part>,
    /// The rounds so far.
    pub rounds: Vec<Round>,
    /// What they have shown; its numbers are those of the parts.
    pub finding: Finding,
    /// Whether the finding holds even if more than two entries were needed together.
    pub confirmed: bool,
    /// How many drives are to be expected until one answer is left; nothing where there are too many parts to work it out.
    pub expected_drives: Option<f64>,
    /// The fewest drives that can be enough on average.
    pub least_drives: f64,
    /// The next round; where the finding is not confirmed, the one that makes sure.
    pub next: Option<Proposal>,
    /// The other half instead, which tells as much; or why it has no safe plan.
    pub other_half: Option<Result<Proposal, String>>,
    /// Why there is no next round though something is open.
    pub stopped: Option<String>,
}

/// Narrows the suspects of a code down by the rounds that the journal has, and proposes the next.
pub fn narrow(trials: &Trials, history: &History, definitions: &DefinitionSet, suspicion: &Suspicion) -> Narrowed {
    let last = history.state().last.unwrap_or(EntryNumber::FIRST);
    let mut parts = parts(suspicion, history);
    let planner = Planner { history, definitions, last };
    for part in &mut parts {
        part.not_tried = part.not_tried.take().or_else(|| planner.not_tried(part));
    }
    let fixed = mask(parts.iter().enumerate().filter(|(_, part)| part.not_tried.is_some()));
    let weights: Vec<f64> = parts.iter().map(|part| f64::from(part.weight)).collect();
    let (narrowing, rounds) = take_in(trials, history, suspicion, &parts, Narrowing::new(&weights, fixed));
    let (now, _) = inside(&parts, history, last);
    let finding = narrowing.finding();
    let mut narrowed = Narrowed {
        expected_drives: (parts.len() <= WORKED_OUT).then(|| narrowing.expected_rounds(now)),
        least_drives: narrowing.entropy(),
        confirmed: narrowing.is_confirmed(),
        finding,
        rounds,
        next: None,
        other_half: None,
        stopped: None,
        parts,
    };
    if parts_are_all_fixed(&narrowed.parts) || finding == Finding::Contradiction {
        return narrowed;
    }
    let wanted = match finding {
        Finding::Open => narrowing.proposals(now),
        _ => narrowing.to_confirm().filter(|set| *set != now).into_iter().collect(),
    };
    let mut refused = None;
    for set in wanted.into_iter().take(TRIED) {
        match planner.proposal(&narrowed.parts, now, set) {
            Ok(proposal) => {
                narrowed.next = Some(proposal);
                if finding == Finding::Open {
                    let other = other_half(&narrowing, &narrowed.parts, set);
                    narrowed.other_half = (other != now).then(|| planner.proposal(&narrowed.parts, now, other));
                }
                return narrowed;
            }
            Err(why) => refused = refused.or(Some(why)),
        }
    }
    narrowed.stopped = refused;
    narrowed
}

fn mask<'p>(parts: impl Iterator<Item = (usize, &'p Part)>) -> Parts {
    parts.fold(0, |mask, (at, _)| mask | 1 << at)
}

fn parts_are_all_fixed(parts: &[Part]) -> bool {
    parts.iter().all(|part| part.not_tried.is_some())
}

/// The set with what is still open turned round; the rest stays.
fn other_half(narrowing: &Narrowing, parts: &[Part], set: Parts) -> Parts {
    let open =
        parts.iter().enumerate().filter(|(at, part)| part.not_tried.is_none() && narrowing.likelihood(*at) > 0.0);
    set ^ mask(open)
}

struct Planner<'a> {
    history: &'a History,
    definitions: &'a DefinitionSet,
    last: EntryNumber,
}

impl Planner<'_> {
    /// Why a part cannot be experimented with as things are.
    fn not_tried(&self, part: &Part) -> Option<NotTried> {
        let place = part.place(self.history, self.last);
        if place == Place::Neither {
            return Some(NotTried::Impossible("somebody altered a part of it since".to_owned()));
        }
        let moved = [part];
        match self.moving(&moved, place) {
            Ok((_, plan)) => restricted(&plan.steps),
            // Together with others it may well be possible.
            Err(Refused::Plan(PlanRefusal::BreaksRules(_) | PlanRefusal::Knot(_))) => None,
            Err(refused) => Some(NotTried::Impossible(refused.why())),
        }
    }

    /// The plan that brings the parts of `set` in and all others out.
    fn proposal(&self, parts: &[Part], now: Parts, set: Parts) -> Result<Proposal, String> {
        let free = |at: &usize| parts[*at].not_tried.is_none();
        let moved: Vec<&Part> =
            (0..parts.len()).filter(free).filter(|at| (now ^ set) >> at & 1 == 1).map(|at| &parts[at]).collect();
        let (wish, plan) = self.moving(&moved, Place::In).map_err(|refused| refused.why())?;
        if let Some(NotTried::Restricted(tags)) = restricted(&plan.steps) {
            let tags: Vec<&str> = tags.iter().map(|tag| tag.as_str()).collect();
            return Err(format!("together they touch a restricted system ({})", tags.join(", ")));
        }
        let out = (0..parts.len()).filter(free).filter(|at| set >> at & 1 == 0);
        let out = out.flat_map(|at| parts[at].entries.iter().copied()).collect();
        Ok(Proposal { out, wish, plan })
    }

    /// Moves parts: those that are in go out, and the other way round. `otherwise` is where a part counts as being that is
    /// in neither place.
    fn moving(&self, moved: &[&Part], otherwise: Place) -> Result<(PutBackWish, Plan), Refused> {
        let mut wish = PutBackWish::default();
        let mut wanted = Vec::new();
        for part in moved {
            let place = match part.place(self.history, self.last) {
                Place::Neither => otherwise,
                place => place,
            };
            for toggle in part.toggles(self.history) {
                let (content, back) = match place {
                    Place::Out => (toggle.inside, self.last_altered(toggle.field)),
                    _ => (toggle.outside, None),
                };
                wanted.push((toggle.field, content));
                wish.entries.extend(back);
            }
            if place != Place::Out {
                wish.entries.extend(part.entries.iter().copied());
            }
        }
        let fields: BTreeSet<&Field> = moved.iter().flat_map(|part| &part.fields).collect();
        for entry in &wish.entries {
            for field in fields_altered(self.history, *entry).filter(|field| !fields.contains(field)) {
                match field {
                    Field::Setting(path) => {
                        wish.keep.insert(path.clone());
                    }
                    Field::Undeclared { .. } => return Err(Refused::Bits(field.clone())),
                }
            }
        }
        let targets = put_back(self.history, &wish).map_err(Refused::Plan)?;
        let plan = plan(self.history, self.definitions, &targets).map_err(Refused::Plan)?;
        if let Some(blocked) = plan.blocked.first() {
            return Err(Refused::Field(blocked.field.clone(), blocked.why.clone()));
        }
        for (field, content) in wanted {
            if !brings(&plan, field, content) {
                return Err(Refused::Field(field.clone(), format!("the plan does not bring it to {content}")));
            }
        }
        Ok((wish, plan))
    }

    /// The entry that altered a field last.
    fn last_altered(&self, field: &Field) -> Option<EntryNumber> {
        self.history.timeline(field)?.last().map(|step| step.entry)
    }
}

/// Whether a plan brings a setting to a content. Bits without a name are not looked into: their plan is made from the very
/// content that they held.
fn brings(plan: &Plan, field: &Field, content: &crate::difference::Content) -> bool {
    let Field::Setting(path) = field else { return true };
    let mut steps = plan.steps.iter().filter(|step| step.module == path.module);
    steps.any(|step| step.settings.iter().any(|it| it.setting == path.setting && it.left.same(content)))
}

fn restricted(steps: &[Step]) -> Option<NotTried> {
    let tags: BTreeSet<_> = steps.iter().flat_map(|step| step.restricted.iter().copied()).collect();
    (!tags.is_empty()).then_some(NotTried::Restricted(tags))
}

/// Why parts cannot be moved.
enum Refused {
    Plan(PlanRefusal),
    Field(Field, String),
    Bits(Field),
}

impl Refused {
    fn why(&self) -> String {
        match self {
            Self::Plan(refusal) => refusal.to_string(),
            Self::Field(field, why) => format!("{field}: {why}"),
            Self::Bits(field) => format!("{field} would be moved with it"),
        }
    }
}
