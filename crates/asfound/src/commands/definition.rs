//! `asfound definition`

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use asfound_core::definition::{Definition, Overlap, check_together};
use asfound_core::document::{Problem, Severity, decode_utf8};
use asfound_journal::garage::Garage;
use asfound_journal::journal::Journal;
use asfound_journal::store::Store;
use clap::{Args as ClapArgs, Subcommand};

use crate::bounded_file::{LARGEST_TEXT, read_bounded};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::progress::Progress;
use crate::screens::definitions::{CheckScreen, CheckedFile, DefinitionList, KeptScreen, ReadOtherwise};
use crate::setup::{Prompt, Session, garage_definitions, parse_definition};

/// Examine definition files, take them into the garage, list those that are there.
#[derive(Debug, ClapArgs)]
pub struct Args {
    /// What to do
    #[command(subcommand)]
    pub action: Action,
}

/// What to do with definitions.
#[derive(Debug, Subcommand)]
pub enum Action {
    /// Examine definition files: everything that is wrong, with line and column; exit code 1 when something is
    #[command(after_help = "Example:\n  asfound definition check body.toml lamps.toml")]
    Check {
        /// Definition files, examined one by one and together
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
    },
    /// Take definition files into the garage; an earlier one of the same id is replaced
    ///
    /// Says first which settings of which vehicles would read otherwise than now, and asks.
    #[command(after_help = "Example:\n  asfound definition keep body.toml")]
    Keep {
        /// Definition files without errors
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,

        /// Do not ask where settings would read otherwise than now
        #[arg(long)]
        yes: bool,
    },
    From(super::definition_from::From),
    Export(super::definition_export::Export),
    /// List the garage's definitions
    List,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Check { files } => check(files, session),
        Action::Keep { files, yes } => keep(files, *yes, session),
        Action::From(args) => super::definition_from::run(args, session),
        Action::Export(args) => super::definition_export::run(args, session),
        Action::List => {
            let definitions = garage_definitions(&session.garage()?)?;
            session.show(&DefinitionList { definitions })?;
            Ok(Exit::Done)
        }
    }
}

fn check(paths: &[PathBuf], session: &mut Session<'_>) -> Result<Exit, Failure> {
    let (mut files, mut good) = (Vec::new(), Vec::new());
    for path in paths {
        let bytes = read_bounded(path, LARGEST_TEXT).map_err(|error| unreadable(path, &error))?;
        let problems: Vec<Problem> = match decode_utf8(&bytes) {
            Err(problem) => vec![problem],
            Ok(text) => match Definition::parse(text) {
                Err(problems) => problems.into_iter().collect(),
                Ok(parsed) => {
                    good.push((files.len(), parsed.definition));
                    parsed.warnings.into_iter().collect()
                }
            },
        };
        files.push(CheckedFile { path: path.clone(), problems });
    }
    let (places, good): (Vec<usize>, Vec<Definition>) = good.into_iter().unzip();
    // Those in the garage are neighbours, and what is wrong with them is not the matter here.
    let kept = session.garage().map(|garage| usable(&garage)).unwrap_or_default();
    let stays = |there: &Definition| !good.iter().any(|new| new.id() == there.id());
    let mut all: Vec<Definition> = kept.into_iter().filter(stays).collect();
    let first = all.len();
    all.extend(good);
    for found in check_together(&all) {
        if let Some(at) = found.definition.checked_sub(first) {
            files[places[at]].problems.push(found.problem);
        }
    }
    let wrong = files.iter().any(|file| file.problems.iter().any(|problem| problem.level == Severity::Error));
    session.show(&CheckScreen { files })?;
    Ok(if wrong { Exit::No } else { Exit::Done })
}

fn keep(paths: &[PathBuf], yes: bool, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let mut read: Vec<Definition> = Vec::new();
    for path in paths {
        let bytes = read_bounded(path, LARGEST_TEXT).map_err(|error| unreadable(path, &error))?;
        let definition = parse_definition(path, &bytes)?;
        if read.iter().any(|earlier| earlier.id() == definition.id()) {
            return Err(Failure::usage(format!("{}: `{}` is given twice", path.display(), definition.id())));
        }
        read.push(definition);
    }
    let kept = keep_definitions(&read, yes, session)?;
    session.show(&kept)?;
    Ok(Exit::Done)
}

/// Takes definitions into the garage, after it was said what would read otherwise.
pub(super) fn keep_definitions(
    read: &[Definition],
    yes: bool,
    session: &mut Session<'_>,
) -> Result<KeptScreen, Failure> {
    // Definitions are often the first thing that somebody brings: the garage is made for them too.
    let (garage, _) = session.garage_or_new()?;
    let overlaps = overlaps(&garage, read)?;
    let otherwise = read_otherwise(&garage, read, session)?;
    if otherwise.takes_away() && !yes {
        agree(&otherwise, session)?;
    }
    let mut kept = Vec::new();
    for definition in read {
        let path: PathBuf = garage.keep_definition(definition.id(), definition.text())?;
        kept.push((definition.id().clone(), shown(&path)));
    }
    let folder = shown(&garage.path().join("definitions"));
    Ok(KeptScreen { folder, files: kept, overlaps, otherwise })
}

/// The definitions in a garage that can be used: one that cannot must not keep its own mended version out.
fn usable(garage: &Garage) -> Vec<Definition> {
    let files = garage.definitions().unwrap_or_default();
    files.iter().filter_map(|file| parse_definition(&file.path, &file.bytes).ok()).collect()
}

/// Which modules the new definitions and others both fit. One that fits exactly the same modules as another is refused:
/// neither would explain anything any more.
fn overlaps(garage: &Garage, read: &[Definition]) -> Result<Vec<String>, Failure> {
    let there = usable(garage);
    let stays = there.iter().filter(|there| !read.iter().any(|new| new.id() == there.id()));
    let mut before: Vec<&Definition> = stays.collect();
    let mut overlaps = Vec::new();
    for new in read {
        for other in &before {
            match new.overlap(other) {
                None => {}
                Some(overlap @ Overlap::Same) => {
                    let (id, other) = (new.id(), other.id());
                    return Err(Failure::refused(format!("`{id}` cannot be kept: the definition `{other}` {overlap}"))
                        .hint(
                            "narrow `applies_to` in one of them, or give the new one the other's id to take its place",
                        ));
                }
                Some(overlap) => overlaps.push(format!("{} {overlap} as {}", new.id(), other.id())),
            }
        }
        before.push(new);
    }
    Ok(overlaps)
}

/// Which settings of the garage's vehicles would read otherwise than now.
fn read_otherwise(garage: &Garage, read: &[Definition], session: &mut Session<'_>) -> Result<ReadOtherwise, Failure> {
    // Where a file in the garage cannot be used, nothing can be read now.
    let Ok(before) = garage_definitions(garage) else { return Ok(ReadOtherwise::default()) };
    let mut after = before.clone();
    let mut modules = BTreeSet::new();
    for definition in read {
        modules.insert(definition.module().clone());
        modules.extend(after.replace(definition.clone()).map(|replaced| replaced.module().clone()));
    }
    let watched = session.environment.colour_of_errors || session.environment.interactive;
    let mut progress = Progress::start(watched);
    let tags = garage.store().tags()?;
    let mut otherwise = ReadOtherwise::default();
    for (done, tag) in tags.iter().enumerate() {
        progress.tell(session.err, || format!("{done} of {} vehicles", tags.len()));
        // A journal that cannot be read reads nothing otherwise; `audit` says what is wrong with it.
        let redefined = Journal::new(garage.store(), tag.clone()).reinterpreted(&before, &after, &modules);
        otherwise.add(tag, redefined.unwrap_or_default());
    }
    progress.wipe(session.err);
    Ok(otherwise)
}

/// Asks whether settings may read otherwise.
fn agree(otherwise: &ReadOtherwise, session: &mut Session<'_>) -> Result<(), Failure> {
    let lines = otherwise.lines().join("\n  ");
    session.say(&lines);
    let refused = || Failure::refused("nothing was kept");
    if !session.environment.interactive {
        return Err(refused().hint("say `--yes` if they are meant to read so"));
    }
    let stdin = std::io::stdin();
    let mut answers = stdin.lock();
    let mut prompt = Prompt { answers: &mut answers, questions: &mut *session.err };
    let agreed = prompt.yes_or_no("Keep it all the same (yes or no)?")?;
    if agreed { Ok(()) } else { Err(refused()) }
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}
