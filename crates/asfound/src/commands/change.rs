//! `asfound change`

use std::path::PathBuf;

use asfound_core::entry::Body;
use asfound_core::names::{SettingPath, Tag};
use asfound_core::value::Value;
use asfound_journal::journal::Basis;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::apply_plan::{carry_out, targeting};
use crate::arguments::{
    Acknowledged, Assignment, AssignmentPlace, FollowedSheet, ForATime, FoundValue, parse_moment, settings_of_vehicle,
    tags,
};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::Filing;
use crate::lookup::setting_of;
use crate::parse_targets::{targets_of, value_of, wish_of};
use crate::plan_preview::{PlanPreview, show};
use crate::setup::{Prompt, Session, TracedJournal, reason};

/// Note a change: hold it against the definition, show the work step, file the entry.
///
/// Settings are written module.setting, whole records module:record. Without any, it asks question by question.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound change wren body.lane_change_flashes=5 --why \"owner wants five\"
  asfound change wren body.lane_change_flashes=5 --was 3 --why \"nothing was read yet\"
  asfound change wren body:0D44=\"01 00\" --was \"00 00\" --why \"raw, from the notes\"
  asfound change wren body.lane_change_flashes=5 --preview
  asfound change wren body.lane_change_flashes=5 --preview --save five.toml
  asfound change wren")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// What is altered: SETTING=VALUE or MODULE:RECORD=BYTES
    #[arg(value_name = "SETTING=VALUE", add = ArgValueCompleter::new(settings_of_vehicle))]
    pub assignments: Vec<Assignment>,

    /// The value as found, where the journal has none: VALUE or SETTING=VALUE
    #[arg(long, value_name = "VALUE")]
    pub was: Vec<FoundValue>,

    /// Why it is altered
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,

    /// When it was altered, if not now
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,

    /// There need be no way back: the value as found is not known and may be lost
    #[arg(long)]
    pub one_way: bool,

    /// Settings that may be altered for a time
    #[command(flatten)]
    pub for_a_time: ForATime,

    /// Show the work step and file nothing
    #[arg(long)]
    pub preview: bool,

    /// The work sheet of an earlier --preview, where the change was made by it
    #[command(flatten)]
    pub sheet: FollowedSheet,

    /// With --preview: save the plan to a file, to be shown, walked or filed later
    #[arg(long, value_name = "FILE", requires = "preview")]
    pub save: Option<PathBuf>,

    /// A file to keep with the entry
    #[arg(long, value_name = "FILE")]
    pub attach: Vec<PathBuf>,

    /// Acknowledgements of restricted systems
    #[command(flatten)]
    pub acknowledged: Acknowledged,
}

/// Runs the command.
pub fn run(mut args: Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open_to_write(session, &args.tag, &Basis::default())?;
    if args.assignments.is_empty() {
        if !session.environment.interactive || session.json {
            return Err(Failure::usage("nothing is altered")
                .hint("name it, as in: asfound change wren body.lane_change_flashes=5 --why TEXT"));
        }
        question_by_question(&mut args, &known, session)?;
    }
    let acknowledgements = args.acknowledged.list()?;
    let targets = targeting(|known, history| {
        let mut targets = targets_of(history, &known.definitions, &args.assignments, &args.was, args.one_way)?;
        args.for_a_time.allow(known, history, &mut targets)?;
        Ok(targets)
    });
    if args.preview {
        let (targets, save) = (targets(&known, &known.history)?, args.save.as_deref());
        let wish = wish_of(&args.assignments, &args.was, args.one_way)?;
        let previewing = PlanPreview { wish, targets, acknowledgements, save };
        return show(session, &known, previewing, |asked| match &asked.missing {
            Some(options) => {
                format!("say the same without `--preview`, with `--sheet {}` and with {options}", asked.sheet)
            }
            None => format!("say the same without `--preview` and with `--sheet {}`", asked.sheet),
        });
    }
    let at = args.at.as_deref().map(|text| parse_moment(text, &session.environment.zone)).transpose()?;
    let why = reason(args.why.as_deref(), "")?;
    let filing = Filing::new(session, &known.garage, why)?.happened(at).attach(&args.attach)?;
    carry_out(session, known, &filing, (&acknowledgements, args.sheet.code), targets, Body::Change)
}

/// Asks for a setting, its value, where needed its value as found, and the reason.
fn question_by_question(args: &mut Args, known: &TracedJournal, session: &mut Session<'_>) -> Result<(), Failure> {
    let stdin = std::io::stdin();
    let mut answers = stdin.lock();
    let mut prompt = Prompt { answers: &mut answers, questions: &mut *session.err };
    let path: SettingPath = prompt.ask("Which setting (module.setting)?", |answer| {
        let path: SettingPath = answer.parse().map_err(|error| format!("{error}"))?;
        // A value is asked for next; this only finds out whether there can be such a setting.
        match setting_of(&known.history, &known.definitions, &path) {
            Ok(_) => Ok(path),
            Err(failure) => Err(failure.message),
        }
    })?;
    let valued = |answer: &str| -> Result<(String, Value), String> {
        let value = value_of(&known.history, &known.definitions, &path, answer, true);
        value.map(|value| (answer.to_owned(), value)).map_err(|failure| failure.message)
    };
    let found = crate::lookup::content_now(known, &path);
    let question = match &found {
        Some(found) => format!("It is {found}. To what is it altered?"),
        None => "To what is it altered?".to_owned(),
    };
    let (text, _) = prompt.ask(&question, valued)?;
    if found.is_none() && args.was.is_empty() && !args.one_way {
        let was = prompt.ask("The journal does not have it yet. What was it before?", |answer| {
            if answer.is_empty() {
                Err("a value is needed, or there is no way back".to_owned())
            } else {
                Ok(answer.to_owned())
            }
        })?;
        args.was.push(FoundValue::Bare(was));
    }
    if args.why.is_none() {
        let why = prompt.ask("Why?", |answer| {
            if answer.is_empty() { Err("an entry needs its reason".to_owned()) } else { Ok(answer.to_owned()) }
        })?;
        args.why = Some(why);
    }
    args.assignments.push(Assignment { place: AssignmentPlace::Setting(path), text });
    Ok(())
}
