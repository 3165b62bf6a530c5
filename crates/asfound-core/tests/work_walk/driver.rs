//! Somebody who walks a plan: asks the walk what to do, does it at the vehicle, appends what happened; and drops dead at
//! any moment, to be followed by another who has only the file.

use std::collections::BTreeSet;

use asfound_core::entry::{StepOutcome, StepPlace};
use asfound_core::names::EntryNumber;
use asfound_core::plan::{Event, GuidedRun, NextAction, Plan, PlanRefusal, SavedPlan, SavedStep, plan};

use crate::garage::Garage;
use crate::vehicle::{Answer, Fault, Vehicle};

/// What happens to whoever walks: faults for the writes in turn, and whether they drop dead at each moment in turn.
#[derive(Debug, Clone, Default)]
pub struct Fate {
    pub faults: Vec<Fault>,
    pub kills: Vec<bool>,
}

impl Fate {
    fn fault(&mut self) -> Fault {
        self.faults.pop().unwrap_or(Fault::None)
    }

    fn kill(&mut self) -> bool {
        self.kills.pop().unwrap_or(false)
    }
}

/// How a walk ended.
#[derive(Debug)]
pub struct Ended {
    /// The entry that was filed, if any.
    pub entry: Option<EntryNumber>,
    /// The steps as they were walked.
    pub steps: Vec<SavedStep>,
    /// What became of each.
    pub outcomes: Vec<StepOutcome>,
    /// How often somebody dropped dead.
    pub killed: usize,
}

/// The steps that are left of a plan, from the journal as it is.
pub fn rest(garage: &Garage, saved: &SavedPlan) -> Result<Plan, PlanRefusal> {
    assert_eq!(saved.moved(&garage.entries, &garage.definitions), Ok(Vec::new()), "nobody else was there");
    let history = garage.history();
    let mut targets = saved.targets(&history, &garage.definitions, &saved.own(&garage.entries))?;
    // Whoever walks reads first what is in doubt.
    targets.read_open_steps_first();
    plan(&history, &garage.definitions, &targets)
}

/// Walks a plan to its end.
pub fn walk(
    garage: &mut Garage,
    vehicle: &mut Vehicle,
    saved: &SavedPlan,
    run: u32,
    fate: &mut Fate,
) -> Result<Ended, PlanRefusal> {
    let steps: Vec<SavedStep> = rest(garage, saved)?.steps.iter().map(SavedStep::of).collect();
    let history = garage.history();
    let open = |place: &StepPlace| history.open_steps().at(place).is_some();
    let doubtful: BTreeSet<StepPlace> = steps.iter().map(SavedStep::place).filter(open).collect();
    let mut log: Vec<Event> = Vec::new();
    let mut killed = 0;
    let mut timeouts = 60;
    loop {
        let lines: Vec<String> = log.iter().map(ToString::to_string).collect();
        log = lines.iter().map(|line| line.parse().expect("a line gives its event again")).collect();
        let walk = GuidedRun::replay(steps.clone(), &doubtful, &log).expect("the file tells of what happened");
        // Filed, and dead before that was noted: the entry says so itself.
        let filed = garage.entries.iter().find(|entry| {
            entry.body.work().is_some_and(|work| work.plan.as_ref() == Some(&saved.id) && work.run == Some(run))
        });
        if let Some(filed) = filed.map(|entry| entry.number).filter(|_| walk.next() != NextAction::Over) {
            log.push(Event::Filed(filed));
            continue;
        }
        if walk.next() == NextAction::Over {
            let outcomes = walk.outcomes().into_iter().map(|step| step.outcome).collect();
            return Ok(Ended { entry: filed.map(|entry| entry.number), steps, outcomes, killed });
        }
        match stint(garage, vehicle, saved, run, fate, walk, &mut log, &mut timeouts) {
            Some(()) => {}
            None => killed += 1,
        }
    }
}

/// One person's stint, until the walk is filed or they drop dead: then nothing.
#[allow(clippy::too_many_arguments, reason = "everything that a stint can touch")]
fn stint(
    garage: &mut Garage,
    vehicle: &mut Vehicle,
    saved: &SavedPlan,
    run: u32,
    fate: &mut Fate,
    mut walk: GuidedRun,
    log: &mut Vec<Event>,
    timeouts: &mut i32,
) -> Option<()> {
    // Whoever comes newly does not know whether the one before them wrote.
    let mut asked_by_me = false;
    loop {
        if fate.kill() {
            return None;
        }
        *timeouts -= 1;
        let mut append = |walk: &mut GuidedRun, event: Event| {
            walk.apply(&event).unwrap_or_else(|error| panic!("{error}: {event}"));
            log.push(event);
        };
        let give_up = *timeouts < 0;
        match walk.next() {
            NextAction::Over => return Some(()),
            NextAction::File => {
                let history = garage.history();
                if walk.has_something_to_tell() {
                    let work = walk.work(saved, run, history.state(), &garage.definitions).unwrap();
                    let number = garage.file(saved.wish.body(work));
                    if fate.kill() {
                        return None;
                    }
                    append(&mut walk, Event::Filed(number));
                } else {
                    append(&mut walk, Event::Ended);
                }
            }
            _ if give_up => append(&mut walk, Event::Stopped),
            NextAction::Look(step) | NextAction::Unexpected(step, _) => {
                *timeouts -= if matches!(walk.next(), NextAction::Unexpected(..)) { 20 } else { 0 };
                let place = walk.step(step).unwrap().place();
                if let Some(said) = vehicle.read(&place) {
                    append(&mut walk, Event::Found(step, said));
                } else {
                    *timeouts -= 5;
                }
            }
            NextAction::Write(step, said) => {
                append(&mut walk, Event::Asked(step));
                if fate.kill() {
                    return None;
                }
                asked_by_me = true;
                let place = walk.step(step).unwrap().place();
                let answer = vehicle.write(&place, &said, fate.fault());
                if fate.kill() {
                    return None;
                }
                match answer {
                    Answer::Accepted => append(&mut walk, Event::Written(step)),
                    Answer::Refused(what) => {
                        *timeouts -= 10;
                        append(&mut walk, Event::Refused(step, what.to_owned()));
                    }
                    Answer::Nothing(what) => append(&mut walk, Event::NoAnswer(step, what.to_owned())),
                }
            }
            NextAction::LookFirst(step) | NextAction::Answer(step) => {
                assert!(
                    !asked_by_me || !matches!(walk.next(), NextAction::Answer(_)),
                    "every write gets its answer noted"
                );
                let place = walk.step(step).unwrap().place();
                match vehicle.read(&place) {
                    Some(said) => append(&mut walk, Event::ReadBack(step, said)),
                    None => *timeouts -= 10,
                }
            }
            NextAction::ReadBack(step) => {
                let place = walk.step(step).unwrap().place();
                match vehicle.read(&place) {
                    Some(said) => append(&mut walk, Event::ReadBack(step, said)),
                    None => append(&mut walk, Event::NotReadBack(step)),
                }
            }
            NextAction::Otherwise(step, _) => {
                *timeouts -= 15;
                let place = walk.step(step).unwrap().place();
                if let Some(said) = vehicle.read(&place) {
                    append(&mut walk, Event::ReadBack(step, said));
                }
            }
        }
    }
}

/// The places that are in doubt after a walk.
pub fn in_doubt(ended: &Ended) -> BTreeSet<StepPlace> {
    let pairs = ended.steps.iter().zip(&ended.outcomes);
    pairs.filter(|(_, outcome)| outcome.is_doubtful()).map(|(step, _)| step.place()).collect()
}
