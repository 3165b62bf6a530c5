//! The walk through a plan's steps.

use std::collections::BTreeSet;

use thiserror::Error;

use super::Event;
use crate::entry::StepPlace;
use crate::plan::{Mismatch, SavedStep, StatedContent};

/// An event that does not fit where the walk is.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum GuidedRunError {
    /// It is about another step.
    #[error("step {at} is at hand, not step {told}")]
    OtherStep {
        /// The step that was told of.
        told: usize,
        /// The step at hand.
        at: usize,
    },
    /// Something else has to happen first.
    #[error("step {step}: `{told}` does not fit here; {awaited}")]
    NotAwaited {
        /// The step at hand.
        step: usize,
        /// The event's word.
        told: &'static str,
        /// What is to happen instead.
        awaited: &'static str,
    },
    /// The walk is over.
    #[error("the walk is over: `{0}` does not fit any more")]
    Over(&'static str),
}

/// What is to happen next. Steps are counted from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NextAction {
    /// Read, and tell what is found.
    Look(usize),
    /// It may have been written already: read before anything else, and tell what it says.
    LookFirst(usize),
    /// What was found is not what was expected: nothing is written. Look again, or stop.
    Unexpected(usize, Mismatch),
    /// Ask for this to be written: [`Event::Asked`] comes before the question.
    Write(usize, StatedContent),
    /// The write was asked for: tell whether it was accepted.
    Answer(usize),
    /// Read back, and tell what it says.
    ReadBack(usize),
    /// What was read back is not what was wanted: no other step may follow. Read again, or stop.
    Otherwise(usize, Mismatch),
    /// Nothing more is to be done: file what was made.
    File,
    /// The walk is over.
    Over,
}

/// Where a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum StepPhase {
    Look,
    Unexpected,
    Ready,
    Asked,
    Refused,
    Unanswered,
    Written,
    Otherwise,
    Done,
}

/// What is known of a step.
#[derive(Debug, Clone)]
pub(super) struct StepStatus {
    pub(super) phase: StepPhase,
    /// It may have been written at some time without anybody knowing.
    pub(super) unsure: bool,
    /// An earlier walk left it in doubt, and nothing was read since.
    pub(super) from_earlier: bool,
    pub(super) found: Option<StatedContent>,
    pub(super) wrote: Option<StatedContent>,
    pub(super) answer: Option<String>,
    pub(super) read_back: Option<StatedContent>,
}

/// A walk through the steps of a plan: a function of the steps and of what happened so far.
#[derive(Debug, Clone)]
pub struct GuidedRun {
    pub(super) steps: Vec<SavedStep>,
    pub(super) standings: Vec<StepStatus>,
    stopped: bool,
    closed: bool,
}

impl GuidedRun {
    /// A walk that has not begun. `doubtful` are the places of which an earlier walk does not know what became of
    /// them, as [`SavedPlan::doubtful`](crate::plan::SavedPlan::doubtful) tells.
    pub fn new(steps: Vec<SavedStep>, doubtful: &BTreeSet<StepPlace>) -> Self {
        let mut doubtful = doubtful.clone();
        let standings = steps.iter().map(|step| {
            let doubtful = doubtful.remove(&step.place());
            StepStatus {
                phase: StepPhase::Look,
                unsure: doubtful,
                from_earlier: doubtful,
                found: None,
                wrote: None,
                answer: None,
                read_back: None,
            }
        });
        Self { standings: standings.collect(), steps, stopped: false, closed: false }
    }

    /// The walk after `events`.
    ///
    /// # Errors
    /// When an event does not follow from those before it.
    pub fn replay<'e>(
        steps: Vec<SavedStep>,
        doubtful: &BTreeSet<StepPlace>,
        events: impl IntoIterator<Item = &'e Event>,
    ) -> Result<Self, GuidedRunError> {
        let mut walk = Self::new(steps, doubtful);
        for event in events {
            walk.apply(event)?;
        }
        Ok(walk)
    }

    /// The steps.
    pub fn steps(&self) -> &[SavedStep] {
        &self.steps
    }

    /// The step of that number, counted from 1.
    pub fn step(&self, number: usize) -> Option<&SavedStep> {
        self.steps.get(number.checked_sub(1)?)
    }

    /// What was found before the write of a step, counted from 1.
    pub fn found(&self, number: usize) -> Option<&StatedContent> {
        self.standings.get(number.checked_sub(1)?)?.found.as_ref()
    }

    /// The number of the step at hand, counted from 1; nothing where there is none.
    pub fn at(&self) -> Option<usize> {
        let open = |standing: &StepStatus| standing.phase != StepPhase::Done;
        self.standings.iter().position(open).filter(|_| !self.stopped && !self.closed).map(|at| at + 1)
    }

    /// What is to happen next.
    pub fn next(&self) -> NextAction {
        if self.closed {
            return NextAction::Over;
        }
        let Some(number) = self.at() else { return NextAction::File };
        let (step, standing) = (&self.steps[number - 1], &self.standings[number - 1]);
        let unlike = |wanted: Option<StatedContent>, said: &Option<StatedContent>| {
            let (wanted, said) = (wanted.unwrap_or_else(|| step.wanted()), said.clone().unwrap_or(step.wanted()));
            step.difference(&wanted, &said).unwrap_or_else(|| Mismatch {
                wanted: wanted.clone(),
                said: said.clone(),
                bits: crate::value::BitMask::default(),
            })
        };
        match standing.phase {
            StepPhase::Look if standing.from_earlier => NextAction::LookFirst(number),
            StepPhase::Look => NextAction::Look(number),
            StepPhase::Unexpected => NextAction::Unexpected(number, unlike(step.expected(), &standing.found)),
            StepPhase::Ready => NextAction::Write(number, step.to_write(standing.found.as_ref())),
            StepPhase::Asked => NextAction::Answer(number),
            StepPhase::Refused | StepPhase::Unanswered => NextAction::LookFirst(number),
            StepPhase::Written => NextAction::ReadBack(number),
            StepPhase::Otherwise => NextAction::Otherwise(number, unlike(None, &standing.read_back)),
            StepPhase::Done => NextAction::File,
        }
    }

    /// Takes in what happened.
    ///
    /// # Errors
    /// When it does not fit where the walk is; the walk is as it was then.
    pub fn apply(&mut self, event: &Event) -> Result<(), GuidedRunError> {
        match event {
            _ if self.closed => return Err(GuidedRunError::Over(event.word())),
            Event::Stopped if !self.stopped => {
                self.stopped = true;
                return Ok(());
            }
            Event::Filed(_) | Event::Ended => {
                self.closed = true;
                return Ok(());
            }
            _ => {}
        }
        let (Some(at), Some(told)) = (self.at(), event.step()) else { return Err(GuidedRunError::Over(event.word())) };
        if told != at {
            return Err(GuidedRunError::OtherStep { told, at });
        }
        let (step, standing) = (&self.steps[at - 1], &mut self.standings[at - 1]);
        let not_awaited = |standing: &StepStatus| {
            Err(GuidedRunError::NotAwaited { step: at, told: event.word(), awaited: awaited(standing) })
        };
        match (standing.phase, event) {
            (StepPhase::Look | StepPhase::Unexpected, Event::Found(_, said)) => standing.look(step, said),
            (StepPhase::Look, Event::ReadBack(_, said)) if standing.from_earlier => standing.look(step, said),
            (StepPhase::Look, Event::NotRead(_)) if step.expected().is_none() => standing.phase = StepPhase::Ready,
            (StepPhase::Ready, Event::Asked(_)) => {
                standing.wrote = Some(step.to_write(standing.found.as_ref()));
                standing.phase = StepPhase::Asked;
            }
            (StepPhase::Asked, Event::Written(_)) => standing.phase = StepPhase::Written,
            (StepPhase::Asked, Event::Refused(_, what)) => {
                standing.answer = Some(what.clone());
                standing.phase = StepPhase::Refused;
            }
            (StepPhase::Asked, Event::NoAnswer(_, what)) => {
                standing.answer = Some(what.clone());
                standing.unsure = true;
                standing.phase = StepPhase::Unanswered;
            }
            (
                StepPhase::Asked | StepPhase::Unanswered | StepPhase::Refused,
                Event::ReadBack(_, said) | Event::Found(_, said),
            ) => {
                standing.unsure |= standing.phase != StepPhase::Refused;
                standing.read_back = Some(said.clone());
                standing.phase = if step.difference(&step.wanted(), said).is_none() {
                    StepPhase::Done
                } else if standing.is_as_before(step, said) {
                    standing.found = Some(said.clone());
                    StepPhase::Ready
                } else {
                    StepPhase::Otherwise
                };
            }
            (StepPhase::Asked | StepPhase::Unanswered | StepPhase::Refused, Event::NotReadBack(_)) => {
                standing.phase = StepPhase::Unanswered;
            }
            (StepPhase::Written, Event::NotReadBack(_)) => standing.phase = StepPhase::Done,
            (StepPhase::Written | StepPhase::Otherwise, Event::ReadBack(_, said)) => {
                standing.read_back = Some(said.clone());
                let as_wanted = step.difference(&step.wanted(), said).is_none();
                standing.phase = if as_wanted { StepPhase::Done } else { StepPhase::Otherwise };
            }
            _ => return not_awaited(standing),
        }
        Ok(())
    }
}

impl StepStatus {
    /// Takes in what was read before the write.
    fn look(&mut self, step: &SavedStep, said: &StatedContent) {
        let as_wanted = step.difference(&step.wanted(), said).is_none();
        let expected = step.expected();
        let as_expected = expected.is_none_or(|expected| step.difference(&expected, said).is_none());
        if self.from_earlier {
            // The earlier walk may have written it, so that it need not be as it was before.
            self.read_back = Some(said.clone());
            self.phase = match (as_wanted, as_expected) {
                (true, _) => StepPhase::Done,
                (false, true) => StepPhase::Ready,
                (false, false) => StepPhase::Otherwise,
            };
            self.from_earlier = false;
        } else {
            self.phase = if as_expected && !as_wanted { StepPhase::Ready } else { StepPhase::Unexpected };
        }
        self.found = Some(said.clone());
    }

    /// Whether what was read is what was there before the write.
    pub(super) fn is_as_before(&self, step: &SavedStep, said: &StatedContent) -> bool {
        let before = self.found.clone().or_else(|| step.expected());
        before.is_some_and(|before| step.difference(&before, said).is_none())
    }
}

/// What is to happen next, in words.
fn awaited(standing: &StepStatus) -> &'static str {
    match standing.phase {
        StepPhase::Look | StepPhase::Unexpected => "read it first and say what is found",
        StepPhase::Ready => "it has not been asked to be written yet",
        StepPhase::Asked => "say whether the write was accepted, or read it to find out",
        StepPhase::Refused | StepPhase::Unanswered => "read it first to find out whether it was written",
        StepPhase::Written => "read it back and say what it says",
        StepPhase::Otherwise => "read it again, or stop",
        StepPhase::Done => "it is made",
    }
}
