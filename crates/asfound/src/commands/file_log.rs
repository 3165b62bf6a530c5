//! `asfound file-log`

use std::path::PathBuf;

use asfound_capture::bus_log::{
    AddressedModule, Bearing, BusSummary, DraftEntry, DraftTerms, LogDraftError, LogDrafts, LogRequest,
    ModuleIdentification, TesterWrites, draw_up, place,
};
use asfound_core::entry::{Body, PlainReason, Reason};
use asfound_core::names::Tag;
use asfound_core::plan::AcknowledgementMissing;
use asfound_core::safety::SafetyTag;
use asfound_journal::journal::{Attachment, Snapshot};
use asfound_wire::pairing::PairOverride;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;
use time::UtcOffset;

use crate::arguments::{Acknowledged, acknowledgement_options, one_line, parse_moment, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{EntryPart, FileTarget, Filing, file_all};
use crate::log_clock::began_by_local_clock;
use crate::log_files::{LogFiles, hear_all};
use crate::screens::log_filed::{LogFiledScreen, NextHint};
use crate::screens::write_lines::{unplaced_line, write_line};
use crate::setup::{DefinedJournal, Prompt, Session, TracedJournal, Zone, reason};

/// Let a bus log be witness of what was done: what was read, written and read again, with whatever program.
///
/// Finds the work that the journal has already and proves it; files what was read as found and as left. Of what the journal
/// does not know somebody must say whose it was: --why for your own work, --another-hand for somebody else's. Several
/// logs of one piece of work belong into one command.
#[derive(Debug, Clone, ClapArgs)]
#[command(after_help = "Examples:
  asfound file-log wren drive.log --preview
  asfound file-log wren drive.log
  asfound file-log wren drive.log --why \"owner wants five\"
  asfound file-log wren dealer.pcapng --another-hand
  asfound file-log wren drive.log --why \"owner wants five\" --tester 18DA0EF1 --another-hand
  asfound file-log wren drive.log --module body=7E0:7E8 --keep-log")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The logs: candump text, pcap or pcapng, also compressed
    #[arg(value_name = "LOG", required = true)]
    pub logs: Vec<PathBuf>,

    /// Why it was altered: makes changes of the writes that the journal does not know
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,

    /// The writes that the journal does not know were not yours; with --tester the others
    #[arg(long)]
    pub another_hand: bool,

    /// Where your tester asked, if another one wrote too: its identifier or logical address; can be repeated
    #[arg(long = "tester", value_name = "ADDRESS", requires = "why")]
    pub testers: Vec<String>,

    /// Which module speaks where: NAME=REQUEST:RESPONSE, or NAME=ADDRESS on IP
    #[arg(long = "module", value_name = "NAME=PLACE")]
    pub modules: Vec<AddressedModule>,

    /// Take these identifiers for a pair: request, response; an address byte in front stands after a slash
    #[arg(long = "pair", value_name = "ID:ID")]
    pub pairs: Vec<PairOverride>,

    /// When the first log began, where its clock was wrong
    #[arg(long, value_name = "TIME")]
    pub began: Option<String>,

    /// With what the vehicle was read and written
    #[arg(long, value_name = "TEXT", value_parser = one_line)]
    pub tool: Option<String>,

    /// The odometer in kilometres
    #[arg(long, value_name = "KM")]
    pub odometer: Option<u32>,

    /// Keep the diagnostic conversations of the logs with the entry, without seeds and keys
    #[arg(long)]
    pub keep_log: bool,

    /// Show what would be filed, and file nothing
    #[arg(long)]
    pub preview: bool,

    /// Acknowledgements of restricted systems
    #[command(flatten)]
    pub acknowledged: Acknowledged,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, &args.tag)?;
    let offset = session.environment.now.offset();
    let zone = session.environment.zone.clone();
    let began = args.began.as_deref().map(|text| parse_moment(text, &zone).map(|began| began.at)).transpose()?;
    let began = began.map_or_else(|| began_by_local_clock(&args.logs, &zone), |began| Ok(Some(began)))?;
    let said = args.modules.iter().filter_map(AddressedModule::pair);
    let pairs = args.pairs.iter().copied().chain(said).collect();
    let files = LogFiles { paths: &args.logs, pairs, keep: args.keep_log };
    let (heard, evidence) = hear_all(files, &known)?;
    let logs = known.picked(&known.index, |entry| matches!(entry.body, Body::Witness(_)))?;
    let placing = place(&heard, &args.modules, &logs, known.state(), &known.definitions)
        .map_err(|error| Failure::usage(error).hint("`asfound wire show LOG` lists who speaks in it"))?;
    let mut bearing = Bearing::of(&heard, &placing);
    let lines = known.picked(&known.index, |entry| bearing.takes(entry))?;
    let names: Vec<&str> = heard.logs.iter().map(|log| log.name.as_str()).collect();
    let source = reason(None, &PlainReason::FromFiles(names.join(", ")).to_string())?;
    let given = args.why.as_deref().map(|why| reason(Some(why), "")).transpose()?;
    let claimed = given.is_some() && (!args.another_hand || !args.testers.is_empty());
    let reasons = EntryReasons {
        change: given.clone().unwrap_or(source.clone()),
        other: if claimed { source } else { given.unwrap_or(source) },
    };
    let terms = DraftTerms {
        claimed,
        testers: args.testers.clone(),
        began,
        now: session.environment.now,
        author: session.author(&known.garage)?,
        why: reasons.other.clone(),
        tool: args.tool.clone(),
        odometer_km: args.odometer,
        acknowledgements: args.acknowledged.list()?,
    };
    let asked = LogRequest {
        heard: &heard,
        placing: &placing,
        entries: &lines,
        history: &known.history,
        definitions: &known.definitions,
        terms: &terms,
    };
    let drawn = draw_up(asked).map_err(|error| refused(&error, &heard, &placing, args))?;
    let next = next(args, &drawn, &heard, &placing);
    if !args.preview {
        let no_stranger = placing.unplaced.iter().all(|one| heard.modules[one.heard].writes() == 0);
        let asks = session.environment.interactive && no_stranger && may_be_asked(&drawn, args);
        match may_be_filed(&drawn, &heard, &placing, (&known, offset), args) {
            Err(nobody) if asks => {
                session.say(&nobody.message);
                return run(&whose(args, session)?, session);
            }
            held => held?,
        }
    }
    let (explained, history) = known.apart();
    let state = history.state().clone();
    if args.preview {
        // What is shown is traced anew, with what is drawn up; of a long journal two histories at once would take much room.
        drop(history);
        let sheet = LogFiledScreen::new((&explained, &state), &heard, &placing, drawn, &reasons.change, next)?;
        session.show(&sheet)?;
        return Ok(Exit::Done);
    }
    let filing = Filing::new(session, &explained.garage, reasons.other.clone())?;
    let mut filed_as = None;
    file_all(FileTarget::giving_up(&explained, history), &filing, |before| {
        let drawn = anew((&heard, &placing, &terms), &explained, before, args)?;
        let pieces = pieces(&drawn, &reasons, &evidence, &zone);
        filed_as = Some(drawn);
        Ok(pieces)
    })?;
    if let Some(drawn) = filed_as {
        let sheet =
            LogFiledScreen::new((&explained, &state), &heard, &placing, drawn, &reasons.change, NextHint::Filed)?;
        session.show(&sheet)?;
    }
    Ok(Exit::Done)
}

/// Whether one answer says whose the writes were that nobody answers for: those of several testers are told apart by options.
fn may_be_asked(drawn: &LogDrafts, args: &Args) -> bool {
    !drawn.open.is_empty() && args.why.is_none() && !args.another_hand && drawn.testers.len() < 2
}

/// Asks whose the writes were that the journal does not know of.
fn whose(args: &Args, session: &mut Session<'_>) -> Result<Args, Failure> {
    let stdin = std::io::stdin();
    let mut answers = stdin.lock();
    let mut prompt = Prompt { answers: &mut answers, questions: &mut *session.err };
    let own = prompt.yes_or_no("Was that your work (yes or no)?")?;
    if !own {
        return Ok(Args { another_hand: true, ..args.clone() });
    }
    let why = prompt.ask("Why?", |answer| {
        if answer.is_empty() { Err("an entry needs its reason".to_owned()) } else { Ok(answer.to_owned()) }
    })?;
    Ok(Args { why: Some(why), ..args.clone() })
}

/// The reason of changes, and that of everything else.
struct EntryReasons {
    change: Reason,
    other: Reason,
}

/// The same once more, against the journal as it is at the moment of filing.
fn anew(
    (heard, placing, terms): (&BusSummary, &ModuleIdentification, &DraftTerms),
    known: &DefinedJournal,
    before: &Snapshot,
    args: &Args,
) -> Result<LogDrafts, Failure> {
    let mut bearing = Bearing::of(heard, placing);
    let entries = &known.picked(&before.index, |entry| bearing.takes(entry))?;
    let (history, definitions) = (&before.history, before.definitions);
    let asked = LogRequest { heard, placing, entries, history, definitions, terms };
    draw_up(asked).map_err(|error| refused(&error, heard, placing, args))
}

fn pieces(drawn: &LogDrafts, reasons: &EntryReasons, evidence: &[Attachment], zone: &Zone) -> Vec<EntryPart> {
    let piece = |DraftEntry { happened, body, .. }: &DraftEntry| {
        let why = if matches!(body, Body::Change(_)) { &reasons.change } else { &reasons.other };
        let evidence = if matches!(body, Body::Witness(_)) { evidence.to_vec() } else { Vec::new() };
        EntryPart {
            happened: happened.to_offset(zone.offset_at(*happened)),
            why: why.clone(),
            body: body.clone(),
            evidence,
        }
    };
    drawn.entries.iter().map(piece).collect()
}

/// Why nothing can be made of the logs, told to people.
fn refused(error: &LogDraftError, heard: &BusSummary, placing: &ModuleIdentification, args: &Args) -> Failure {
    match error {
        LogDraftError::FiledAlready { entry, .. } => {
            Failure::refused(error).hint(format!("`asfound entry {} {entry}` shows what it witnessed", args.tag))
        }
        LogDraftError::Nobody => {
            let message = lines_of(error.to_string(), placing.unplaced.iter().map(|one| unplaced_line(heard, one)));
            let failure = Failure::usage(message);
            match placing.unplaced.first() {
                Some(one) => failure.hint(say_module(heard, one)),
                None => failure.hint("`asfound wire show LOG` lists who speaks in it; say a pair with `--pair ID:ID`"),
            }
        }
        LogDraftError::NoDate(_) => {
            Failure::usage(error).hint("say when the log began: `--began \"2026-03-14 09:20\"`")
        }
        LogDraftError::OtherVin { .. } => Failure::usage(error).hint("`asfound vehicles` lists the VIN of each"),
        LogDraftError::Reading(problems) => {
            let failure = Failure::usage(error);
            failure.maybe_hint(problems.iter().find_map(asfound_core::examination::ReadingProblem::hint))
        }
        LogDraftError::Twice(..) => Failure::usage(error),
        LogDraftError::NoTester { .. } => {
            Failure::usage(error).hint("`asfound file-log TAG LOG --preview` shows who wrote what")
        }
        LogDraftError::Between { .. } => Failure::refused(error).hint(
            "whose the bits are cannot be told apart: name both with `--tester`, or say the same with `--another-hand` \
             and without `--why`",
        ),
    }
}

fn say_module(heard: &BusSummary, one: &asfound_capture::bus_log::UnidentifiedModule) -> String {
    let name = one.perhaps.as_ref().map_or("NAME", |name| name.as_str());
    format!("say which module it is: `--module {name}={}`", heard.modules[one.heard].said())
}

fn lines_of(mut message: String, lines: impl IntoIterator<Item = String>) -> String {
    lines.into_iter().for_each(|line| message.push_str(&format!("\n  {line}")));
    message
}

/// What keeps the entries from being filed: modules that were written and are not known by name, writes of which nobody says
/// whose they were, restricted systems that nobody has acknowledged.
fn may_be_filed(
    drawn: &LogDrafts,
    heard: &BusSummary,
    placing: &ModuleIdentification,
    (known, offset): (&TracedJournal, UtcOffset),
    args: &Args,
) -> Result<(), Failure> {
    let written: Vec<_> = placing.unplaced.iter().filter(|one| heard.modules[one.heard].writes() > 0).collect();
    if let Some(first) = written.first() {
        let message = "a module was written, and nothing tells which it is".to_owned();
        let message = lines_of(message, written.iter().map(|one| unplaced_line(heard, one)));
        return Err(Failure::refused(message).hint(say_module(heard, first)));
    }
    if !drawn.open.is_empty() && !args.another_hand {
        return Err(nobody_says(drawn, known, offset, args));
    }
    let given = args.acknowledged.list()?;
    let missing: Vec<SafetyTag> =
        drawn.restricted.iter().filter(|tag| !given.iter().any(|given| given.tag == **tag)).copied().collect();
    if !missing.is_empty() {
        let options = acknowledgement_options(&missing);
        return Err(Failure::refused(AcknowledgementMissing(missing)).hint(format!(
            "this is for a qualified technician; local law and the maker's procedure come first. If you are one: {options}"
        )));
    }
    Ok(())
}

/// Writes of which nobody says whose they were, tester by tester where there are several.
fn nobody_says(drawn: &LogDrafts, known: &TracedJournal, offset: UtcOffset, args: &Args) -> Failure {
    let of_one = |places: &[usize]| -> Vec<String> {
        let line = |place: &usize| write_line(known.state(), &known.definitions, &drawn.witness.writes, *place, offset);
        places.iter().filter(|place| drawn.open.contains(place)).map(line).collect()
    };
    let what = match drawn.open.len() {
        1 => "a write, and nobody says whose it was".to_owned(),
        count => format!("{count} writes, and nobody says whose they were"),
    };
    let message = format!("the journal does not know of {what}");
    if drawn.testers.len() < 2 {
        let message = lines_of(message, of_one(&drawn.open));
        return Failure::refused(message)
            .hint("if it was your work, say why: `--why TEXT`; if not: `--another-hand`; `--preview` shows all of it");
    }
    let mut lines = Vec::new();
    for tester in &drawn.testers {
        let writes = of_one(&tester.writes);
        if !writes.is_empty() {
            lines.push(format!("by the tester at {}", tester.addresses.join(", ")));
            lines.extend(writes.into_iter().map(|line| format!("  {line}")));
        }
    }
    let is_open = |tester: &&TesterWrites| tester.writes.iter().any(|place| drawn.open.contains(place));
    let address = drawn.testers.iter().find(is_open).and_then(|tester| tester.addresses.first());
    let address = address.map_or("ADDRESS", String::as_str).trim_start_matches("IP ");
    let hint = if !args.testers.is_empty() {
        format!("if that was yours too, add `--tester {address}`; if not, add `--another-hand`")
    } else if args.why.is_some() {
        format!(
            "`--why` holds for one tester: say which was yours, `--tester {address}` for instance; if another was not, add \
             `--another-hand`"
        )
    } else {
        format!(
            "if one of them was yours, say which and why: `--tester {address} --why TEXT`; if none was: `--another-hand`; \
             `--preview` shows all of it"
        )
    };
    Failure::refused(lines_of(message, lines)).hint(hint)
}

/// What is to be said next, after a preview.
fn next(args: &Args, drawn: &LogDrafts, heard: &BusSummary, placing: &ModuleIdentification) -> NextHint {
    let mut options: Vec<String> = Vec::new();
    let written = placing.unplaced.iter().filter(|one| heard.modules[one.heard].writes() > 0);
    options.extend(written.map(|one| {
        let name = one.perhaps.as_ref().map_or("NAME", |name| name.as_str());
        format!("--module {name}={}", heard.modules[one.heard].said())
    }));
    if !drawn.restricted.is_empty() && args.acknowledged.tags.is_empty() {
        options.push(acknowledgement_options(&drawn.restricted));
    }
    let open = !drawn.open.is_empty() && !args.another_hand;
    NextHint::Preview { options, open }
}
