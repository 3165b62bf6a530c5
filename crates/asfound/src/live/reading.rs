//! Takes a reading of the car itself.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::DefinitionSet;
use asfound_core::names::{ModuleName, RecordName, Tag};
use asfound_core::reading::{Reading, VehicleMark};
use asfound_core::state::State;
use asfound_journal::journal::Attachment;
use asfound_link::LinkError;
use asfound_link::client::Timing;
use asfound_link::reading::{
    Asked, Ended, ModuleAnswers, Script, Survey, SurveyWatcher, TakenReading, VinVerdict, draw_up, judge_vin,
    known_vins, vehicle_data, vins_told,
};
use asfound_link::request::ReadRequest;
use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::Timestamp;

use super::address::LinkAddress;
use super::args::LinkArgs;
use super::connect::{ModuleQuery, OpenLink, modules_to_ask};
use super::interrupt::Interrupt;
use super::told::{refused_lines, request_text, unread_lines, vehicle_lines, vin_list};
use crate::failure::Failure;
use crate::progress::Progress;
use crate::setup::{Prompt, Session, TracedJournal};

/// So many modules are asked at once.
const AT_ONCE: usize = 8;
/// What holds before the first byte is sent.
const CAUTIONS: [&str; 4] = [
    "The vehicle stands still, with the parking brake on.",
    "The ignition is on, the engine is off.",
    "The supply is supported: a reading wakes modules and drains the battery.",
    "Nothing else is connected to the vehicle. asfound only reads; it writes nothing to it.",
];

/// A reading that the program took itself.
pub struct LiveReading {
    /// The reading.
    pub reading: Reading,
    /// What is worth saying of how it came about.
    pub told: Vec<String>,
    /// Everything that was sent and received.
    pub exchange: Attachment,
    /// Whether it is to be filed although it is not whole.
    pub partial: bool,
}

/// What stays the same while a car is read.
struct VehicleLink<'k> {
    tag: &'k Tag,
    state: &'k State,
    definitions: &'k DefinitionSet,
    names: BTreeMap<ModuleAddress, ModuleName>,
    modules: ModuleQuery,
    from: LinkAddress,
}

impl LiveReading {
    /// Takes a reading over a link.
    ///
    /// # Errors
    /// When nobody says that the car is ready, the car cannot be reached, is another one or is driven, or the reading is not whole and nobody
    /// wants a part of it.
    pub fn take(
        args: &LinkArgs,
        from: &LinkAddress,
        partial: bool,
        known: &TracedJournal,
        session: &mut Session<'_>,
    ) -> Result<Self, Failure> {
        let state = known.state();
        let modules = modules_to_ask(args, from, state)?;
        let names = modules.iter().map(|(at, (name, _))| (*at, name.clone())).collect();
        let car =
            VehicleLink { tag: &known.tag, state, definitions: &known.definitions, names, modules, from: from.clone() };
        let mut partial = partial;
        let lacking = car.cannot_be_asked();
        if !partial && !lacking.is_empty() {
            let what = lacking.into_iter().collect::<Vec<_>>().join(", ");
            partial = agreed(session, &format!("{what} cannot be read this way. Read the rest as a partial reading?"))?;
            if !partial {
                return Err(Failure::refused(format!("earlier readings have what cannot be read this way: {what}"))
                    .hint("say `--partial` if the reading is meant to be partial, or name modules with `--ask`"));
            }
        }
        make_ready(args, session)?;
        let (taken, verdict, ended, exchange) = car.ask(args, session)?;
        let mut told = vehicle_lines(&verdict, &taken, &car.names);
        told.extend(refused_lines(&taken.refused));
        told.extend(unread_lines(&taken.unread));
        if let Some(why) = &ended {
            told.push(why.clone());
        }
        if taken.reading.modules.is_empty() {
            let why = ended.unwrap_or_else(|| "no module answered".to_owned());
            return Err(Failure::usage(format!("nothing was read: {why}"))
                .hint("switch the ignition on, and check the modules' addresses"));
        }
        if (ended.is_some() || !taken.unread.is_empty()) && !partial {
            told.iter().for_each(|line| session.say(line));
            partial = agreed(session, "The reading is not whole. File what was read as a partial reading?")?;
            if !partial {
                return Err(Failure::refused("the reading is not whole; nothing was filed")
                    .hint("read again, or say `--partial` if what can be read is enough"));
            }
        }
        let mut reading = taken.reading;
        reading.vehicle = Some(VehicleMark::Tag(car.tag.clone()));
        reading.tool = Some(format!("asfound, by {from}"));
        Ok(Self { reading, told, exchange, partial })
    }
}

/// Whether somebody agrees; where nobody can be asked, nobody does.
fn agreed(session: &mut Session<'_>, question: &str) -> Result<bool, Failure> {
    if !session.environment.interactive {
        return Ok(false);
    }
    let stdin = std::io::stdin();
    let mut prompt = Prompt { answers: &mut stdin.lock(), questions: &mut *session.err };
    prompt.ask(&format!("{question} (yes or no)"), |answer| match answer {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err("answer yes or no".to_owned()),
    })
}

/// Says what must hold, and has somebody say that it does.
fn make_ready(args: &LinkArgs, session: &mut Session<'_>) -> Result<(), Failure> {
    if args.ready {
        return Ok(());
    }
    CAUTIONS.iter().for_each(|caution| session.say(caution));
    if agreed(session, "Is it so?")? {
        return Ok(());
    }
    Err(Failure::refused("nobody said that the vehicle is ready; nothing was sent to it")
        .hint("say `--ready` once all of this holds"))
}

/// Follows the script, tells how far it is, and stops where somebody wants that.
struct Watcher<'w, 's, 'a> {
    script: Option<&'w mut Script<'a>>,
    names: &'w BTreeMap<ModuleAddress, ModuleName>,
    progress: &'w mut Progress,
    session: &'w mut Session<'s>,
    interrupt: &'w Interrupt,
    count: &'w mut usize,
}

impl SurveyWatcher for Watcher<'_, '_, '_> {
    fn next(&mut self, module: ModuleAddress, answers: &ModuleAnswers) -> Vec<ReadRequest> {
        self.script.as_mut().map(|script| script.next(module, answers)).unwrap_or_default()
    }

    fn asked(&mut self, module: ModuleAddress, asked: &Asked) {
        *self.count += 1;
        let (count, name) = (*self.count, self.names.get(&module));
        self.progress.tell(self.session.err, || {
            let name = name.map_or("?", ModuleName::as_str);
            format!("{count} answers; {name}: {}", request_text(asked.request))
        });
    }

    fn goes_on(&mut self) -> bool {
        !self.interrupt.is_wished()
    }
}

type Answers = (TakenReading, VinVerdict, Option<String>, Attachment);

impl VehicleLink<'_> {
    /// What earlier readings have and nobody can ask for: modules that are not asked, and blocks without an identifier.
    fn cannot_be_asked(&self) -> BTreeSet<String> {
        let asked: BTreeSet<&ModuleName> = self.names.values().collect();
        let mut lacking = BTreeSet::new();
        for (name, known) in &self.state.modules {
            let mut read = known.records.iter().filter(|(_, known)| known.read.is_some()).map(|(record, _)| record);
            if asked.contains(name) {
                let blocks = read.filter(|record| record.identifier().is_none());
                lacking.extend(blocks.map(|record: &RecordName| format!("{name} record {record}")));
            } else if read.next().is_some() || known.stated.values().any(|stated| stated.read.is_some()) {
                lacking.insert(format!("module {name}"));
            }
        }
        lacking
    }

    fn ask(&self, args: &LinkArgs, session: &mut Session<'_>) -> Result<Answers, Failure> {
        let nanoseconds = u64::try_from(session.environment.now.unix_timestamp_nanos()).unwrap_or(0);
        let now = Timestamp::from_nanoseconds(nanoseconds);
        let connected = OpenLink::connect(&self.from, &self.modules, args.tester, now);
        let (mut link, announced) = connected.map_err(|error| failure(&error))?;

        let interrupt = Interrupt::watch();
        let is_shown = session.environment.colour_of_errors || session.environment.interactive;
        let mut progress = Progress::start(is_shown);
        let mut survey = Survey::new(Timing::default(), AT_ONCE);
        for module in self.names.keys() {
            survey.add(*module, Script::OPENING);
        }
        let mut script = Script::new(self.state, self.definitions, &self.names, args.wanted());
        let mut count = 0;
        let mut watcher = Watcher {
            script: None,
            names: &self.names,
            progress: &mut progress,
            session,
            interrupt: &interrupt,
            count: &mut count,
        };
        let mut ended = survey.run(link.link(), &mut watcher);
        let verdict = judge_vin(&known_vins(self.state), &vins_told(survey.answers()), announced.as_ref());
        // Also where the opening broke off: what it gave may be filed.
        let speed = vehicle_data(survey.answers().map(|(_, answers)| answers)).speed;
        if let Err(refusal) = self.may_be_read(&verdict, speed) {
            watcher.progress.wipe(watcher.session.err);
            return Err(refusal);
        }
        if matches!(ended, Ok(Ended::Done)) {
            for module in self.names.keys() {
                let there = survey.of(*module).filter(|opening| opening.is_there());
                let first = there.map(|opening| script.first(opening)).unwrap_or_default();
                survey.add(*module, first);
            }
            watcher.script = Some(&mut script);
            ended = survey.run(link.link(), &mut watcher);
        }
        progress.wipe(session.err);
        let ended = match ended {
            Ok(Ended::Done) => None,
            Ok(Ended::Stopped) => Some("the reading was stopped".to_owned()),
            Err(error) => Some(error.to_string()),
        };
        Ok((draw_up(&survey, &script), verdict, ended, link.exchange()))
    }

    /// Whether it is this car, and stands.
    fn may_be_read(&self, verdict: &VinVerdict, speed: Option<u8>) -> Result<(), Failure> {
        if let VinVerdict::Another(vins) = verdict {
            let known = vin_list(&known_vins(self.state));
            let message = format!("the car tells the VIN {}, the journal of {} has {known}", vin_list(vins), self.tag);
            return Err(Failure::refused(message).hint("`asfound vehicles` lists the VIN of each"));
        }
        match speed {
            Some(speed @ 1..) => Err(Failure::refused(format!("the vehicle is moving, at {speed} km/h"))
                .hint("a car that is driven is not read; stop, then read again")),
            _ => Ok(()),
        }
    }
}

fn failure(error: &LinkError) -> Failure {
    Failure::usage(error.to_string()).maybe_hint(error.hint())
}
