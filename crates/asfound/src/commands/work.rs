//! `asfound work`

use std::io::BufRead;
use std::path::PathBuf;

use asfound_core::history::History;
use asfound_core::names::{SettingPath, Tag};
use asfound_core::plan::{Event, NextAction, SavedWrite, StatedContent, headline};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::{Acknowledged, acknowledgement_options, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{Filing, file};
use crate::guided_run::{OpenRun, open};
use crate::parse_targets::value_of;
use crate::plan_file::{basis_of, load};
use crate::screens::guided_run::{RunOverScreen, RunScreen};
use crate::setup::{Prompt, Session, TracedJournal, reason};

/// Go through a saved plan step by step: what is found, what is written, what is read back.
///
/// Everything is noted at once, so that it can be interrupted at any moment and goes on where it was. It asks question
/// by question, or takes the answers for the step at hand as options. What was made is filed as one entry when every
/// step is made, or with --stop.
#[derive(Debug, ClapArgs)]
#[allow(clippy::struct_excessive_bools, reason = "each is a flag of its own on the command line")]
#[command(after_help = "Examples:
  asfound work wren back.toml
  asfound work wren back.toml --step 1 --found \"13 03 40 56\"
  asfound work wren back.toml --step 1 --written --read-back \"15 03 40 58\"
  asfound work wren back.toml --why \"owner wants it as it was\"
  asfound work wren back.toml --stop --why \"the rest tomorrow\"")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The plan, as `--save` wrote it
    #[arg(value_name = "PLAN")]
    pub plan: PathBuf,

    /// The step that the answers are about, so that none is told of another
    #[arg(long, value_name = "N")]
    pub step: Option<usize>,

    /// What was found before the write: the record's bytes, or the setting's value
    #[arg(long, value_name = "BYTES|VALUE", conflicts_with = "not_read")]
    pub found: Option<String>,

    /// It could not be read before the write
    #[arg(long)]
    pub not_read: bool,

    /// The write was accepted
    #[arg(long, conflicts_with_all = ["refused", "no_answer"])]
    pub written: bool,

    /// The write was refused, with these words
    #[arg(long, value_name = "TEXT", conflicts_with = "no_answer")]
    pub refused: Option<String>,

    /// Nobody knows whether the write was accepted, for this reason
    #[arg(long, value_name = "TEXT")]
    pub no_answer: Option<String>,

    /// What was read back after the write
    #[arg(long, value_name = "BYTES|VALUE", conflicts_with = "not_read_back")]
    pub read_back: Option<String>,

    /// It could not be read back
    #[arg(long)]
    pub not_read_back: bool,

    /// Make no more steps, and file what was made
    #[arg(long)]
    pub stop: bool,

    /// Why, for the entry at the end
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,

    /// Acknowledgements of restricted systems, where the walk begins, beside those saved with the plan
    #[command(flatten)]
    pub acknowledged: Acknowledged,
}

impl Args {
    fn has_answers(&self) -> bool {
        let texts = [&self.found, &self.refused, &self.no_answer, &self.read_back];
        texts.iter().any(|text| text.is_some()) || self.not_read || self.written || self.not_read_back
    }
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let saved = load(&args.plan)?;
    if saved.vehicle != args.tag {
        return Err(Failure::usage(format!("the plan is for `{}`, not for `{}`", saved.vehicle, args.tag)));
    }
    let known = TracedJournal::open_to_write(session, &args.tag, &basis_of(&saved.wish))?;
    let shown = args.plan.display().to_string();
    let open = open(&known, &saved, args.acknowledged.list()?, session.environment.now)?;
    let mut work = GuidedSession { open, known, file: shown };
    if let (Some(told), Some(at)) = (args.step, work.open.walk.at())
        && told != at
    {
        return Err(Failure::usage(format!("step {at} is at hand, not step {told}")));
    }
    let stands = if args.stop { Ok(()) } else { work.open.stands(&work.known) };
    if let Err(moved) = stands {
        // What the vehicle is now has to be told, though the walk cannot go on.
        if args.has_answers() && work.open.has_unanswered_write() {
            work.answers(args, session)?;
        }
        return Err(if work.open.has_unanswered_write() {
            let stop = moved.hint.clone().unwrap_or_default();
            moved.hint(format!("say what it reads now with `--read-back X`, and then {stop}"))
        } else {
            moved
        });
    }
    work.answers(args, session)?;
    if args.stop {
        if args.why.is_none() && work.open.walk.has_something_to_tell() {
            return Err(Failure::usage("an entry needs its reason").hint("say why with `--why TEXT`"));
        }
        work.note(&Event::Stopped, session)?;
    }
    let bare = !args.has_answers() && !args.stop && args.why.is_none();
    let doubt = bare && matches!(work.open.walk.next(), NextAction::Answer(_));
    if bare && session.environment.interactive && !session.json {
        let stdin = std::io::stdin();
        return work.converse(session, &mut stdin.lock());
    }
    match work.open.walk.next() {
        NextAction::Unexpected(step, unlike) if !bare => Err(work.unexpected(step, &unlike.to_string())),
        NextAction::Otherwise(step, unlike) if !bare => Err(work.otherwise(step, &unlike.to_string())),
        NextAction::File if !work.open.walk.has_something_to_tell() => work.end(session),
        NextAction::File if args.why.is_some() => work.file(args.why.as_deref(), session),
        _ => {
            work.ask_to_write(session)?;
            let GuidedSession { open, known, file } = &work;
            session.show(&RunScreen { tag: &known.tag, open, file, asked: false, doubt })?;
            Ok(Exit::Done)
        }
    }
}

/// A walk at work.
struct GuidedSession {
    open: OpenRun,
    known: TracedJournal,
    /// The plan's file, as the command named it.
    file: String,
}

impl GuidedSession {
    fn note(&mut self, event: &Event, session: &Session<'_>) -> Result<(), Failure> {
        self.open.note(event, session.environment.now)
    }

    /// From here on it may have been written: that has to be noted before anybody is asked to.
    fn ask_to_write(&mut self, session: &Session<'_>) -> Result<(), Failure> {
        match self.open.walk.next() {
            NextAction::Write(step, _) => self.note(&Event::Asked(step), session),
            _ => Ok(()),
        }
    }

    /// Takes in the answers that were given as options, for the step at hand.
    fn answers(&mut self, args: &Args, session: &Session<'_>) -> Result<(), Failure> {
        if !args.has_answers() {
            return Ok(());
        }
        let Some(step) = self.open.walk.at() else {
            return Err(
                Failure::usage("every step is made: there is nothing to answer").hint("file it with `--why TEXT`")
            );
        };
        if let Some(text) = &args.found {
            self.note(&Event::Found(step, self.said(step, text)?), session)?;
        }
        if args.not_read {
            self.note(&Event::NotRead(step), session)?;
        }
        if matches!(self.open.walk.next(), NextAction::Unexpected(..)) {
            return Ok(());
        }
        let answer = match (&args.refused, &args.no_answer) {
            _ if args.written => Some(Event::Written(step)),
            (Some(what), _) => Some(Event::Refused(step, what.clone())),
            (None, Some(what)) => Some(Event::NoAnswer(step, what.clone())),
            (None, None) => None,
        };
        if let Some(event) = answer {
            self.ask_to_write(session)?;
            self.note(&event, session)?;
        }
        if let Some(text) = &args.read_back {
            self.note(&Event::ReadBack(step, self.said(step, text)?), session)?;
        }
        if args.not_read_back {
            self.note(&Event::NotReadBack(step), session)?;
        }
        Ok(())
    }

    /// What somebody typed, as the record or setting of a step says it.
    fn said(&self, step: usize, text: &str) -> Result<StatedContent, Failure> {
        let step = self.open.walk.step(step).ok_or_else(|| Failure::usage("there is no such step"))?;
        let text = match &step.write {
            SavedWrite::Record { .. } => text.to_owned(),
            SavedWrite::Setting { setting, .. } => {
                let path = SettingPath { module: step.module.clone(), setting: setting.clone() };
                let history: &History = &self.known.history;
                // A value that the definition does not know may still be what was found.
                let typed = value_of(history, &self.known.definitions, &path, text.trim(), false);
                typed.map_or_else(|_| text.to_owned(), |value| value.to_string())
            }
        };
        step.said(&text).map_err(|error| Failure::usage(format!("{}: {error}", step.place())))
    }

    fn unexpected(&self, step: usize, unlike: &str) -> Failure {
        let place = self.open.walk.step(step).map(|step| step.place().to_string()).unwrap_or_default();
        let as_wanted = matches!((self.open.walk.found(step), self.open.walk.step(step)),
            (Some(found), Some(at)) if at.difference(&at.wanted(), found).is_none());
        let hint = if as_wanted {
            "it is as wanted already, and this plan did not do it: stop, and file a reading of it"
        } else {
            "read it again and say so; or stop, and file a reading of it: another hand may have been there"
        };
        Failure::refused(format!("step {step}: {place} says {unlike}\n  nothing is written")).hint(hint)
    }

    fn otherwise(&self, step: usize, unlike: &str) -> Failure {
        let place = self.open.walk.step(step).map(|step| step.place().to_string()).unwrap_or_default();
        Failure::refused(format!("step {step}: {place} reads {unlike} after the write\n  no other step is made")).hint(
            "a module may answer with what it said before until it has slept: read it again and say so; or stop with \
             `--stop --why TEXT`, and plan what is left anew",
        )
    }

    /// Ends a walk of which there is nothing to tell.
    fn end(&mut self, session: &mut Session<'_>) -> Result<Exit, Failure> {
        self.note(&Event::Ended, session)?;
        session.show(&RunOverScreen { tag: &self.known.tag, open: &self.open, file: &self.file, entry: None })?;
        Ok(Exit::Done)
    }

    /// Files what was made, as one entry.
    fn file(&mut self, why: Option<&str>, session: &mut Session<'_>) -> Result<Exit, Failure> {
        let filing = Filing::new(session, &self.known.garage, reason(why, "")?)?;
        let filed = file(&self.known, &filing, |before| {
            for filed in self.known.journal().each(&before.index) {
                if let Some(entry) = self.open.filed(&[filed?.entry]) {
                    return Err(Failure::refused(format!("this walk is filed already, as entry {entry}")));
                }
            }
            let state = before.history.state();
            let work = self.open.walk.work(&self.open.plan, self.open.run, state, before.definitions);
            let work = work.map_err(|missing| {
                let asked = acknowledgement_options(&missing.0);
                Failure::refused(missing).hint(format!("acknowledge it with the same command: {asked}"))
            })?;
            Ok(self.open.plan.wish.body(work))
        })?;
        self.note(&Event::Filed(filed.entry.number), session)?;
        let line = headline(&filed.history, &filed.entry);
        let entry = Some((filed.entry, line));
        session.show(&RunOverScreen { tag: &self.known.tag, open: &self.open, file: &self.file, entry })?;
        Ok(Exit::Done)
    }

    /// Asks question by question, until everything is filed.
    fn converse(&mut self, session: &mut Session<'_>, answers: &mut dyn BufRead) -> Result<Exit, Failure> {
        loop {
            // Whoever is asked to write may do so before they are asked whether they did.
            let just_asked = matches!(self.open.walk.next(), NextAction::Write(..));
            self.ask_to_write(session)?;
            let next = self.open.walk.next();
            match next {
                NextAction::File if self.open.walk.has_something_to_tell() => {
                    let Self { open, known, file } = &*self;
                    session.show(&RunScreen { tag: &known.tag, open, file, asked: true, doubt: false })?;
                    let why = ask(session, answers, "Why was it done?")?;
                    return self.file(Some(&why), session);
                }
                NextAction::File => return self.end(session),
                NextAction::Over => return Ok(Exit::Done),
                _ => {}
            }
            let Self { open, known, file } = &*self;
            let doubt = matches!(next, NextAction::Answer(_)) && !just_asked;
            session.show(&RunScreen { tag: &known.tag, open, file, asked: true, doubt })?;
            let question = match next {
                NextAction::Answer(_) if just_asked => "Was the write accepted (yes, refused, unknown, stop)?",
                _ => "What does it read (or: unknown, stop)?",
            };
            self.answer(session, answers, question, just_asked)?;
        }
    }

    /// Asks one question and notes the answer; asks again where it does not fit.
    fn answer(
        &mut self,
        session: &mut Session<'_>,
        answers: &mut dyn BufRead,
        question: &str,
        just_asked: bool,
    ) -> Result<(), Failure> {
        let Some(step) = self.open.walk.at() else { return Ok(()) };
        loop {
            let text = ask(session, answers, question)?;
            let event = match (self.open.walk.next(), text.as_str()) {
                (_, "stop") => Ok(Event::Stopped),
                (NextAction::Answer(_), "yes") if just_asked => Ok(Event::Written(step)),
                (NextAction::Answer(_), "refused") if just_asked => {
                    Ok(Event::Refused(step, ask(session, answers, "What did it say?")?))
                }
                (NextAction::Answer(_), "unknown") if just_asked => {
                    Ok(Event::NoAnswer(step, ask(session, answers, "What happened?")?))
                }
                (NextAction::Answer(_), _) if just_asked => Err(Failure::usage("say yes, refused, unknown or stop")),
                (NextAction::Look(_) | NextAction::Unexpected(..), "unknown") => Ok(Event::NotRead(step)),
                (_, "unknown") => Ok(Event::NotReadBack(step)),
                (NextAction::Look(_) | NextAction::Unexpected(..), text) => {
                    self.said(step, text).map(|it| Event::Found(step, it))
                }
                (_, text) => self.said(step, text).map(|it| Event::ReadBack(step, it)),
            };
            match event.and_then(|event| self.note(&event, session)) {
                Ok(()) => return Ok(()),
                Err(failure) if failure.exit == Exit::Usage => session.say(&format!("  {}", failure.message)),
                Err(failure) => return Err(failure),
            }
        }
    }
}

fn ask(session: &mut Session<'_>, answers: &mut dyn BufRead, question: &str) -> Result<String, Failure> {
    let mut prompt = Prompt { answers, questions: &mut *session.err };
    prompt.ask(
        question,
        |answer| {
            if answer.is_empty() { Err("an answer is needed".to_owned()) } else { Ok(answer.to_owned()) }
        },
    )
}

#[cfg(test)]
mod tests;
