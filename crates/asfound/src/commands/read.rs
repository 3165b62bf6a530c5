//! `asfound read`

use std::path::PathBuf;

use asfound_core::entry::{Body, PlainReason, ReadingRole};
use asfound_core::examination::{AcceptedReading, ReadingProblem, ReadingTerms, examine};
use asfound_core::names::{ModuleName, Tag};
use asfound_core::reading::Reading;
use asfound_core::situation::{Engine, Ignition};
use asfound_core::value::Decimal;
use asfound_journal::journal::Snapshot;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;
use time::OffsetDateTime;

use crate::arguments::{Assignment, one_line, parse_moment, settings_of_vehicle, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{FileTarget, Filing, file};
use crate::live::{LinkArgs, LiveReading};
use crate::reading_input::{ReadInput, TableArgs, take};
use crate::screens::reading_filed::ReadingFiled;
use crate::setup::{Session, TracedJournal, reason};

/// File a reading: what the modules said. Shows what differs from the last known state.
///
/// Takes reading files (.toml, .json) and tables (any other ending). Several files are one reading.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound read wren morning.toml --as found
  asfound read wren export.csv --columns module=ECU,setting=Name,value=Value --columns-as bench
  asfound read wren export.csv --columns-of bench --partial
  asfound read wren --value body.lane_change_flashes=5 --as left --partial
  asfound read wren --from doip:192.0.2.1 --as found

A reading file is described in docs/readings.md.")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// Reading files and tables
    #[arg(value_name = "FILE")]
    pub files: Vec<PathBuf>,

    /// Why it was taken: found, left or check; without it, found for the first reading and check for later ones
    #[arg(long = "as", value_name = "ROLE")]
    pub role: Option<ReadingRole>,

    /// It is meant to cover less than earlier readings; the rest keeps its last content
    #[arg(long)]
    pub partial: bool,

    /// A value typed by hand: SETTING=VALUE or MODULE:RECORD=BYTES
    #[arg(long, value_name = "SETTING=VALUE", add = ArgValueCompleter::new(settings_of_vehicle))]
    pub value: Vec<Assignment>,

    /// When it was taken, where the files do not say
    #[arg(long, value_name = "TIME")]
    pub taken: Option<String>,

    /// The odometer in kilometres, where the files do not say
    #[arg(long, value_name = "KM")]
    pub odometer: Option<u32>,

    /// The supply voltage in volts, where the files do not say
    #[arg(long, value_name = "VOLTS")]
    pub supply_voltage: Option<Decimal>,

    /// Whether the engine was running or stopped, where the files do not say
    #[arg(long, value_name = "STATE")]
    pub engine: Option<Engine>,

    /// Whether the ignition was on or off, where the files do not say
    #[arg(long, value_name = "STATE")]
    pub ignition: Option<Ignition>,

    /// A module that was asked and did not answer
    #[arg(long, value_name = "MODULE")]
    pub did_not_answer: Vec<ModuleName>,

    /// File a file that was filed already, although it tells its moment
    #[arg(long)]
    pub again: bool,

    /// With what it was taken, where the files do not say
    #[arg(long, value_name = "TEXT", value_parser = one_line)]
    pub tool: Option<String>,

    /// Why it is filed
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,

    /// A file to keep with the entry
    #[arg(long, value_name = "FILE")]
    pub attach: Vec<PathBuf>,

    /// How tables are read
    #[command(flatten)]
    pub tables: TableArgs,

    /// The car itself
    #[command(flatten)]
    pub link: LinkArgs,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, &args.tag)?;
    if args.files.is_empty() && args.value.is_empty() && args.link.from.is_none() {
        return Err(Failure::usage("there is nothing to read")
            .hint("name a file, type values with `--value`, or read the car with `--from`"));
    }
    let mut live = match &args.link.from {
        Some(from) => Some(LiveReading::take(&args.link, from, args.partial, &known, session)?),
        None => None,
    };
    let partial = live.as_ref().map_or(args.partial, |live| live.partial);
    let taken = match &mut live {
        Some(live) => ReadInput { reading: std::mem::take(&mut live.reading), ..ReadInput::default() },
        None => take(&args.files, &args.tables, &args.value, &known.garage, &known.definitions, known.state())?,
    };
    // A file that tells its moment is one reading. One that does not may say the same to the letter of another day.
    let dated = taken.reading.taken.is_some() && !args.again;
    let ReadInput { reading, told, source: digest } = told_at_hand(taken, args, session)?;
    if let Some(filed) = digest.map(|digest| known.filed_from(digest)).transpose()?.flatten().filter(|_| dated) {
        return Err(Failure::refused(format!("this was filed already, as entry {filed}"))
            .hint("if it is to be filed once more, say `--again`"));
    }

    let names: Vec<String> = args
        .files
        .iter()
        .map(|path| path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default())
        .collect();
    let source = match &args.link.from {
        Some(from) => PlainReason::FromFiles(from.to_string()),
        None if names.is_empty() => PlainReason::Typed,
        None => PlainReason::FromFiles(names.join(", ")),
    };
    let why = reason(args.why.as_deref(), &source.to_string())?;
    let mut filing = Filing::new(session, &known.garage, why)?.happened(reading.taken).attach(&args.attach)?;
    let exchange = live.map(|live| {
        filing.keep(live.exchange);
        live.told
    });

    let recorded = session.environment.now;
    let mut examined = None;
    let (explained, history) = known.apart();
    let before = history.state().clone();
    let mut onto = FileTarget::giving_up(&explained, history);
    onto.journal = onto.journal.taking_from(digest);
    let filed = file(onto, &filing, |before| {
        let found = examine_against(before, &reading, (args.role, partial), recorded)?;
        let body = found.body.clone();
        examined = Some(found);
        Ok(Body::Reading(body))
    })?;
    if let Some(mapping) = args.tables.to_keep() {
        mapping.keep(&explained.garage)?;
    }
    if let Some(AcceptedReading { remarks, missing, .. }) = examined {
        let mut shown = ReadingFiled::new(&explained, &before, &filed, remarks, missing, told)?;
        shown.exchange = exchange;
        session.show(&shown)?;
    }
    Ok(Exit::Done)
}

/// Fills in what the command line says and the files do not; what both say must be the same.
fn told_at_hand(mut taken: ReadInput, args: &Args, session: &Session<'_>) -> Result<ReadInput, Failure> {
    let at = args.taken.as_deref().map(|text| parse_moment(text, &session.environment.zone)).transpose()?;
    let Reading { taken: when, tool, odometer_km, supply_voltage, situation, .. } = &mut taken.reading;
    fill(when, at, "the time at which it was taken")?;
    fill(tool, args.tool.clone(), "the tool")?;
    fill(odometer_km, args.odometer, "the odometer")?;
    fill(supply_voltage, args.supply_voltage.clone(), "the supply voltage")?;
    fill(&mut situation.engine, args.engine, "the engine")?;
    fill(&mut situation.ignition, args.ignition, "the ignition")?;
    situation.did_not_answer.extend(args.did_not_answer.iter().cloned());
    Ok(taken)
}

fn fill<T: PartialEq + ToString>(into: &mut Option<T>, told: Option<T>, what: &str) -> Result<(), Failure> {
    match (&into, told) {
        (Some(in_file), Some(told)) if *in_file != told => Err(Failure::usage(format!(
            "{what}: the files say {}, the command line says {}",
            in_file.to_string(),
            told.to_string()
        ))
        .hint("leave it out of the command line, or put the file right")),
        (None, told) => {
            *into = told;
            Ok(())
        }
        _ => Ok(()),
    }
}

fn examine_against(
    before: &Snapshot,
    reading: &Reading,
    (role, partial): (Option<ReadingRole>, bool),
    recorded: OffsetDateTime,
) -> Result<AcceptedReading, Failure> {
    let state = before.history.state();
    let read_before = before.history.last_reading().is_some();
    let role = role.unwrap_or(if read_before { ReadingRole::Check } else { ReadingRole::AsFound });
    let terms = ReadingTerms { role, partial, recorded };
    examine(reading, state, before.definitions, terms).map_err(|problems| failure(&problems))
}

fn failure(problems: &[ReadingProblem]) -> Failure {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    // A reading that is incomplete and otherwise sound is a matter of saying so, not of wrong input.
    let incomplete = problems.iter().all(|problem| matches!(problem, ReadingProblem::Incomplete(_)));
    let failure = if incomplete { Failure::refused(lines.join("\n")) } else { Failure::usage(lines.join("\n")) };
    let advice = |problem: &ReadingProblem| match problem {
        ReadingProblem::Value { module, setting, .. } => {
            Some(format!("`asfound explain {module}.{setting}` says what it may be"))
        }
        ReadingProblem::OtherVin { .. } => Some("`asfound vehicles` lists the VIN of each".to_owned()),
        ReadingProblem::GivenAndRefused { .. } => Some("leave it out of one of the two".to_owned()),
        problem => problem.hint(),
    };
    failure.maybe_hint(problems.iter().find_map(advice))
}
