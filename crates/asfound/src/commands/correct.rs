//! `asfound correct`

use std::collections::BTreeMap;

use asfound_core::entry::{Body, Correction, Effects};
use asfound_core::history::{Field, History, Origin};
use asfound_core::moment::StatedTime;
use asfound_core::names::{EntryNumber, SettingPath, Tag};
use asfound_core::plan::{self, PlanRefusal, Targets};
use asfound_journal::journal::{Basis, Snapshot};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::{Assignment, AssignmentPlace, parse_moment, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{Filing, file};
use crate::parse_targets::value_of;
use crate::planning::refusal;
use crate::screens::corrected::CorrectionScreen;
use crate::setup::{Session, TracedJournal, reason};

/// Answer a wrong entry by a correction; the entry itself stays legible.
///
/// A correction is about the journal, not about the vehicle: nothing is done to the vehicle.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound correct wren 4 body.lane_change_flashes=4 --why \"typed 5, made 4\"
  asfound correct wren 4 --was body.lane_change_flashes=2 --why \"misread the old value\"
  asfound correct wren 4 --never-made --why \"was the other car\"
  asfound correct wren 5 --at 2026-03-14 --why \"it was the day before\"
  asfound correct wren 6 --words \"horn sounds hoarse when cold\" --why \"left out half\"")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The entry that is wrong
    #[arg(value_name = "N")]
    pub entry: EntryNumber,

    /// What the entry should have said as left
    #[arg(value_name = "SETTING=VALUE")]
    pub values: Vec<Assignment>,

    /// What the entry should have said as found
    #[arg(long, value_name = "SETTING=VALUE")]
    pub was: Vec<Assignment>,

    /// The reason or the note that the entry should have had
    #[arg(long, value_name = "TEXT")]
    pub words: Option<String>,

    /// When it happened
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,

    /// The work in it was never made
    #[arg(long, conflicts_with_all = ["values", "was", "words", "at"])]
    pub never_made: bool,

    /// What was wrong
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open_to_write(session, &args.tag, &Basis::default())?;
    let is_work = known.entry(args.entry)?.entry.body.work().is_some();
    let what = (&args.words, &args.at);
    if args.values.is_empty() && args.was.is_empty() && what == (&None, &None) && !args.never_made {
        return Err(Failure::usage("there is no correction")
            .hint("give SETTING=VALUE, `--was SETTING=VALUE`, `--at TIME`, `--words TEXT` or `--never-made`"));
    }
    let at = args.at.as_deref().map(|text| parse_moment(text, &session.environment.zone)).transpose()?;
    let filing = Filing::new(session, &known.garage, reason(args.why.as_deref(), "")?)?;
    let filed = file(&known, &filing, |before| {
        let correction = correction(args, is_work, before)?;
        Ok(Body::Correction(match at {
            Some(at) => with_moment(correction, at, &known, before, &filing)?,
            None => correction,
        }))
    })?;
    session.show(&CorrectionScreen::new(&known, &filed))?;
    Ok(Exit::Done)
}

fn correction(args: &Args, is_work: bool, before: &Snapshot) -> Result<Correction, Failure> {
    let history = &before.history;
    if history.never_made(args.entry) {
        return Err(Failure::refused(format!("entry {} was corrected already: it was never made", args.entry)));
    }
    if args.never_made {
        return never_made(args, is_work, before);
    }
    let mut targets = Targets::new();
    for assignment in &args.values {
        let path = setting_in(assignment, args, history)?;
        let field = Field::Setting(path.clone());
        let later = history.timeline(&field).and_then(|timeline| timeline.last()).map(|last| last.entry);
        if let Some(later) = later.filter(|later| *later > args.entry) {
            return Err(Failure::refused(format!(
                "entry {later} tells of {path} again, so what entry {} left cannot be corrected any more",
                args.entry
            ))
            .hint(format!("correct entry {later}, or file a note")));
        }
        // What is true of the vehicle may be something that the definition does not permit.
        targets.choose(field, value_of(history, before.definitions, &path, &assignment.text, false)?);
    }
    let mut was = BTreeMap::new();
    for assignment in &args.was {
        let path = setting_in(assignment, args, history)?;
        let steps = history.timeline(&Field::Setting(path.clone())).map(|timeline| timeline.transitions());
        let first = steps.is_some_and(|steps| steps.first().is_some_and(|step| step.entry == args.entry));
        if !first {
            return Err(Failure::refused(format!(
                "what {path} was before entry {} is told by an earlier entry, not by this one",
                args.entry
            ))
            .hint("correct that entry"));
        }
        let value = value_of(history, before.definitions, &path, &assignment.text, false)?;
        was.insert(path, value.to_string());
    }
    let effects = effects_of(before, &targets)?;
    if !targets.is_empty() && effects.is_empty() {
        return Err(refusal(&PlanRefusal::Nothing));
    }
    let words = args.words.as_deref().map(|words| reason(Some(words), "")).transpose()?;
    Ok(Correction { was, words, effects, ..Correction::of(args.entry) })
}

/// The same correction, which also says when the entry happened. What is known is moved where another order of the entries
/// makes it something else.
fn with_moment(
    correction: Correction,
    at: StatedTime,
    known: &TracedJournal,
    before: &Snapshot,
    filing: &Filing,
) -> Result<Correction, Failure> {
    if !correction.effects.is_empty() {
        return Err(Failure::usage("a moment and values cannot be put right together")
            .hint("file one correction for `--at`, then another for the values"));
    }
    let mut correction = Correction { happened: Some(at.at), precision: at.precision, ..correction };
    let entry = known.entry(correction.corrects)?.entry;
    if matches!(entry.body, Body::Enrolled(_)) {
        return Err(Failure::usage("the start of a journal has the moment at which it was started"));
    }
    let drawn = filing.entry(Body::Correction(correction.clone()), before.history.state());
    let by_time = known.journal().trace_with(&before.index, before.definitions, &drawn)?;
    correction.effects = plan::moment_corrected(&entry, before.history.state(), by_time.state());
    Ok(correction)
}

/// Takes the effects of an entry out of the state, if no later entry stands on them.
fn never_made(args: &Args, is_work: bool, before: &Snapshot) -> Result<Correction, Failure> {
    if !is_work {
        return Err(Failure::usage(format!("entry {} is not work, so it cannot be marked as never made", args.entry))
            .hint("only changes and put-backs can be; answer others by a note"));
    }
    let targets = plan::never_made(&before.history, args.entry).map_err(|error| stands(args.entry, &error))?;
    let effects = effects_of(before, &targets)?;
    Ok(Correction { never_made: true, effects, ..Correction::of(args.entry) })
}

/// Why an entry cannot be told as never made.
fn stands(entry: EntryNumber, error: &PlanRefusal) -> Failure {
    match error {
        PlanRefusal::Blocked(blockers) => {
            let mut message = format!("a later reading shows that the work in entry {entry} was made");
            for blocker in blockers {
                let readings: Vec<String> = blocker.in_the_way.iter().map(ToString::to_string).collect();
                message.push_str(&format!("\n  {}: read back in entry {}", blocker.field, readings.join(", ")));
            }
            Failure::refused(message).hint(format!(
                "if that reading is wrong, read the vehicle again and file it; or file a note on entry {entry}"
            ))
        }
        PlanRefusal::NothingIn(_) | PlanRefusal::NoWayBack(_) => Failure::refused(format!(
            "what entry {entry} altered was not known before, so the journal has nothing to take its place"
        ))
        .hint(format!("read the vehicle and file it: the reading then stands against entry {entry}; or file a note")),
        other => refusal(other),
    }
}

/// The effects that bring the journal's state to the targets; nothing is done to the vehicle.
fn effects_of(before: &Snapshot, targets: &Targets<'_>) -> Result<Effects, Failure> {
    plan::corrected(&before.history, before.definitions, targets).map_err(|error| refusal(&error))
}

fn setting_in(assignment: &Assignment, args: &Args, history: &History) -> Result<SettingPath, Failure> {
    let AssignmentPlace::Setting(path) = &assignment.place else {
        return Err(Failure::usage(format!("a correction is about a setting, not about {}", assignment.place)));
    };
    let field = Field::Setting(path.clone());
    let tells = history.transitions_of(args.entry).any(|(told, step)| {
        *told == field
            && matches!(
                step.origin,
                Origin::Work
                    | Origin::FirstKnown
                    | Origin::AnotherHand(_)
                    | Origin::Contradicts(_)
                    | Origin::CannotTell(_)
            )
    });
    if tells {
        Ok(path.clone())
    } else {
        Err(Failure::usage(format!("entry {} says nothing of {path}", args.entry))
            .hint(format!("`asfound entries {} {path}` tells which entries do", args.tag)))
    }
}
