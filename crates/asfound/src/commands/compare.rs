//! `asfound compare`

use std::path::PathBuf;

use asfound_core::difference::compare;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::state::State;
use asfound_report::{ComparedSide, ComparedSides, Language, Paper, compared as in_words};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::printing::{PrintFormat, language, write};
use crate::screens::comparison::{ComparisonScreen, differences, one_sided};
use crate::setup::{Session, TracedJournal};

/// Show what differs between two entries of a vehicle, or between two vehicles.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound compare wren 2 5
  asfound compare wren 2          entry 2 against now
  asfound compare wren plover     two vehicles, as they are now
  asfound compare wren 2 9 --expect-same
  asfound compare wren plover --out side-by-side.html")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// An entry, or another vehicle
    #[arg(value_name = "N or TAG", add = ArgValueCompleter::new(tags))]
    pub with: String,

    /// A second entry; without it, the vehicle as it is now
    #[arg(value_name = "N")]
    pub entry: Option<EntryNumber>,

    /// Show how definitions differ line by line
    #[arg(long)]
    pub definitions: bool,

    /// End with exit code 1 when anything differs
    #[arg(long)]
    pub expect_same: bool,

    /// Write it into a new file as well, by its ending as a page (.html), for print (.pdf) or as text (.txt)
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,

    /// The language of that file, `en` or `de`
    #[arg(long, value_name = "LANGUAGE", requires = "out")]
    pub language: Option<Language>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let format = args.out.as_deref().map(PrintFormat::of).transpose()?;
    let known = TracedJournal::open(session, &args.tag)?;
    let (compared, sides) = if let Ok(number) = args.with.parse::<EntryNumber>() {
        two_entries(args, &known, number)?
    } else {
        let tag: Tag =
            args.with.parse().map_err(|_| Failure::usage(format!("`{}` is neither an entry nor a tag", args.with)))?;
        if args.entry.is_some() {
            return Err(Failure::usage("two vehicles are compared as they are now; leave the entry out"));
        }
        let other = TracedJournal::open(session, &tag)?;
        let comparison =
            compare(known.state(), other.state(), &known.definitions, &other.definitions, other.history.movements());
        let sides = (ComparedSide::Vehicle(known.tag.to_string()), ComparedSide::Vehicle(other.tag.to_string()));
        let compared = ComparisonScreen {
            found: known.tag.to_string(),
            left: other.tag.to_string(),
            comparison,
            definitions: Vec::new(),
            show_definitions: false,
        };
        (compared, sides)
    };
    if let (Some(file), Some(format)) = (&args.out, format) {
        let sides = ComparedSides {
            found: sides.0,
            left: sides.1,
            about: args.tag.to_string(),
            printed: session.environment.now,
        };
        let printed = in_words(&compared.comparison, &sides, language(args.language, &known.garage, session)?);
        write(file, format, &printed, Paper::default())?;
    }
    session.show(&compared)?;
    let comparison = &compared.comparison;
    if args.expect_same && !comparison.is_same() {
        session.say(&format!("asfound: {} where none should", differences(comparison)));
        return Ok(Exit::No);
    }
    // What one side does not know may well differ: that is no "the same" either.
    if args.expect_same
        && let Some(unknown) = one_sided(comparison)
    {
        session.say(&format!("asfound: nothing differs, but {unknown}"));
        return Ok(Exit::No);
    }
    Ok(Exit::Done)
}

fn two_entries(
    args: &Args,
    known: &TracedJournal,
    first: EntryNumber,
) -> Result<(ComparisonScreen, (ComparedSide, ComparedSide)), Failure> {
    let last = known.last();
    let second = args.entry.unwrap_or(last);
    let state = |number: EntryNumber| -> Result<State, Failure> { known.state_at(number) };
    let by = &known.definitions;
    let comparison = compare(&state(first)?, &state(second)?, by, by, known.history.movements());
    let compared = ComparisonScreen {
        found: format!("entry {first}"),
        left: format!("entry {second}"),
        comparison,
        definitions: definitions(known, first, second)?,
        show_definitions: args.definitions,
    };
    Ok((compared, (ComparedSide::Entry(first), ComparedSide::Entry(second))))
}

/// The definitions that both entries carry with different text.
fn definitions(
    known: &TracedJournal,
    first: EntryNumber,
    second: EntryNumber,
) -> Result<Vec<(String, String, String)>, Failure> {
    let journal = known.journal();
    let pinned = |number| -> Result<Vec<(String, Vec<u8>)>, Failure> {
        Ok(journal.pinned_definitions(&known.entry(number)?.commit)?)
    };
    let (found, left) = (pinned(first)?, pinned(second)?);
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let both = found.iter().filter_map(|(name, a)| Some((name, a, &left.iter().find(|(other, _)| other == name)?.1)));
    Ok(both.filter(|(_, a, b)| a != b).map(|(name, a, b)| (name.clone(), text(a), text(b))).collect())
}
