//! Several modules asked at once, each one request after the other.

use std::collections::{BTreeMap, VecDeque};
use std::time::Duration;

use asfound_wire::conversation::ModuleAddress;

use crate::client::{Dialogue, DialogueStep, Outcome, Timing, Undelivered};
use crate::error::LinkError;
use crate::link::{Arrival, Link, Received};
use crate::request::ReadRequest;

/// A module that gave no answer this often in a row is asked nothing more.
const MOST_SILENT: u32 = 2;
/// So often at least it is looked whether to go on.
const PACE: Duration = Duration::from_millis(100);

/// A request and what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// What was asked.
    pub request: ReadRequest,
    /// What became of it.
    pub outcome: Outcome,
}

/// Everything that a module was asked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ModuleAnswers {
    /// The requests with what became of them, in their order.
    pub asked: Vec<Asked>,
    /// What was to be asked, and was not any more.
    pub left: Vec<ReadRequest>,
}

impl ModuleAnswers {
    /// The positive response to a request: the last one, where it was made several times.
    pub fn answer(&self, request: ReadRequest) -> Option<&[u8]> {
        self.asked.iter().rev().filter(|asked| asked.request == request).find_map(|asked| match &asked.outcome {
            Outcome::Answered(bytes) => Some(bytes.as_slice()),
            _ => None,
        })
    }

    /// The bytes of a record.
    pub fn record(&self, identifier: u16) -> Option<&[u8]> {
        self.answer(ReadRequest::Record(identifier))?.get(3..)
    }

    /// Whether the module said anything to the point.
    pub fn is_there(&self) -> bool {
        self.asked.iter().any(|asked| asked.outcome.is_answer())
    }
}

/// Watches a survey, and says how it goes on.
pub trait SurveyWatcher {
    /// What a module is asked next, once all of its requests are answered.
    fn next(&mut self, module: ModuleAddress, answers: &ModuleAnswers) -> Vec<ReadRequest>;

    /// A request is over.
    fn asked(&mut self, module: ModuleAddress, asked: &Asked) {
        let _ = (module, asked);
    }

    /// Whether to go on.
    fn goes_on(&mut self) -> bool {
        true
    }
}

/// How a survey ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// Everything was asked.
    Done,
    /// The watcher stopped it.
    Stopped,
}

#[derive(Debug)]
struct Surveyed {
    dialogue: Dialogue,
    /// The request that is under way.
    current: Option<ReadRequest>,
    queue: VecDeque<ReadRequest>,
    silent: u32,
    answers: ModuleAnswers,
}

/// Several modules asked at once, each one request after the other.
#[derive(Debug)]
pub struct Survey {
    timing: Timing,
    at_once: usize,
    modules: BTreeMap<ModuleAddress, Surveyed>,
}

impl Survey {
    /// A survey that asks so many modules at once.
    pub const fn new(timing: Timing, at_once: usize) -> Self {
        Self { timing, at_once, modules: BTreeMap::new() }
    }

    /// Adds what a module is to be asked.
    pub fn add(&mut self, module: ModuleAddress, requests: impl IntoIterator<Item = ReadRequest>) {
        let timing = self.timing;
        let surveyed = self.modules.entry(module).or_insert_with(|| Surveyed {
            dialogue: Dialogue::new(timing),
            current: None,
            queue: VecDeque::new(),
            silent: 0,
            answers: ModuleAnswers::default(),
        });
        surveyed.queue.extend(requests);
    }

    /// The modules with their answers until now.
    pub fn answers(&self) -> impl Iterator<Item = (ModuleAddress, &ModuleAnswers)> {
        self.modules.iter().map(|(address, surveyed)| (*address, &surveyed.answers))
    }

    /// The answers of one module until now.
    pub fn of(&self, module: ModuleAddress) -> Option<&ModuleAnswers> {
        self.modules.get(&module).map(|surveyed| &surveyed.answers)
    }

    /// Asks everything that is to be asked. What is not asked any more is noted as left.
    ///
    /// # Errors
    /// When the way to the car is gone; what was answered until then stays.
    pub fn run(&mut self, link: &mut dyn Link, watcher: &mut dyn SurveyWatcher) -> Result<Ended, LinkError> {
        let ended = self.ask(link, watcher);
        if !matches!(ended, Ok(Ended::Done)) {
            for surveyed in self.modules.values_mut() {
                let left = surveyed.current.take().into_iter().chain(surveyed.queue.drain(..));
                surveyed.answers.left.extend(left);
                surveyed.dialogue = Dialogue::new(self.timing);
            }
        }
        ended
    }

    fn ask(&mut self, link: &mut dyn Link, watcher: &mut dyn SurveyWatcher) -> Result<Ended, LinkError> {
        loop {
            if !watcher.goes_on() {
                return Ok(Ended::Stopped);
            }
            self.begin(link)?;
            let asking = self.modules.values().filter_map(|surveyed| surveyed.dialogue.due()).min();
            let Some(due) = asking else { return Ok(Ended::Done) };
            match link.receive(due.min(link.now().after(PACE)))? {
                Some(received) => self.received(link, watcher, received)?,
                None => self.time(link, watcher)?,
            }
        }
    }

    /// Begins requests of modules that are asked nothing.
    fn begin(&mut self, link: &mut dyn Link) -> Result<(), LinkError> {
        let is_asking = |dialogue: &Dialogue| dialogue.is_asking() && !dialogue.is_pausing();
        let mut asking = self.modules.values().filter(|surveyed| is_asking(&surveyed.dialogue)).count();
        for (address, surveyed) in &mut self.modules {
            if asking >= self.at_once {
                break;
            }
            if !surveyed.dialogue.is_asking()
                && let Some(request) = surveyed.queue.pop_front()
            {
                surveyed.current = Some(request);
                if let DialogueStep::Send(request) = surveyed.dialogue.ask(request, link.now()) {
                    link.send(*address, request)?;
                }
                asking += 1;
            }
        }
        Ok(())
    }

    fn received(
        &mut self,
        link: &mut dyn Link,
        watcher: &mut dyn SurveyWatcher,
        Received { from, moment, what }: Received,
    ) -> Result<(), LinkError> {
        let Some(surveyed) = self.modules.get_mut(&from) else { return Ok(()) };
        let step = match what {
            Arrival::Response(bytes) => surveyed.dialogue.response(&bytes, moment),
            Arrival::Undelivered(why) => surveyed.dialogue.undelivered(why, moment),
            Arrival::PassedOn => {
                surveyed.dialogue.passed_on(moment);
                DialogueStep::Wait
            }
        };
        surveyed.step(from, step, link, watcher)?;
        // A module that never stops talking does not keep the time from passing for the others.
        self.time(link, watcher)
    }

    fn time(&mut self, link: &mut dyn Link, watcher: &mut dyn SurveyWatcher) -> Result<(), LinkError> {
        let now = link.now();
        for (address, surveyed) in &mut self.modules {
            if surveyed.dialogue.due().is_some_and(|due| due <= now) {
                let step = surveyed.dialogue.time(now);
                surveyed.step(*address, step, link, watcher)?;
            }
        }
        Ok(())
    }
}

impl Surveyed {
    fn step(
        &mut self,
        address: ModuleAddress,
        step: DialogueStep,
        link: &mut dyn Link,
        watcher: &mut dyn SurveyWatcher,
    ) -> Result<(), LinkError> {
        let outcome = match step {
            DialogueStep::Wait => return Ok(()),
            DialogueStep::Send(request) => return link.send(address, request),
            DialogueStep::Done(outcome) => outcome,
        };
        let Some(request) = self.current.take() else { return Ok(()) };
        self.silent = if outcome.is_answer() { 0 } else { self.silent + 1 };
        // ISO 13400-2: no module has this address.
        let unknown = matches!(outcome, Outcome::Undelivered(Undelivered::Gateway(0x03)));
        let asked = Asked { request, outcome };
        watcher.asked(address, &asked);
        self.answers.asked.push(asked);
        if self.silent >= MOST_SILENT || unknown {
            self.answers.left.extend(self.queue.drain(..));
        } else if self.queue.is_empty() {
            self.queue.extend(watcher.next(address, &self.answers));
        }
        Ok(())
    }
}
