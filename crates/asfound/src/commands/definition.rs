//! `asfound definition`

use std::path::{Path, PathBuf};

use asfound_core::definition::{Definition, ProblemIn, check_together};
use asfound_core::document::{Level, Problem, decode_utf8};
use asfound_journal::garage::Garage;
use clap::{Args as ClapArgs, Subcommand};

use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::screens::definitions::{Checked, CheckedFile, Kept, Listed};
use crate::setup::{Session, garage_definitions, parse_definition};

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
    #[command(after_help = "Example:\n  asfound definition keep body.toml")]
    Keep {
        /// Definition files without errors
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
    },
    /// List the garage's definitions
    List,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Check { files } => check(files, session),
        Action::Keep { files } => keep(files, session),
        Action::List => {
            let definitions = garage_definitions(&session.garage()?)?;
            session.show(&Listed { definitions })?;
            Ok(Exit::Done)
        }
    }
}

fn check(paths: &[PathBuf], session: &mut Session<'_>) -> Result<Exit, Failure> {
    let (mut files, mut good) = (Vec::new(), Vec::new());
    for path in paths {
        let bytes = std::fs::read(path).map_err(|error| unreadable(path, &error))?;
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
    for found in check_together(&good) {
        files[places[found.definition]].problems.push(found.problem);
    }
    for (index, definition) in good.iter().enumerate() {
        if good[..index].iter().any(|earlier| earlier.id() == definition.id()) {
            let message = format!("another file given here defines `{}` too", definition.id());
            files[places[index]].problems.push(Problem::error(None, "id", message));
        }
    }
    let wrong = files.iter().any(|file| file.problems.iter().any(|problem| problem.level == Level::Error));
    session.show(&Checked { files })?;
    Ok(if wrong { Exit::No } else { Exit::Done })
}

fn keep(paths: &[PathBuf], session: &mut Session<'_>) -> Result<Exit, Failure> {
    let path = session.garage_path()?;
    // Definitions are often the first thing that somebody brings: the garage is made for them too.
    let garage = if path.exists() { Garage::open(&path)? } else { Garage::create(&path)? };
    let mut read: Vec<(Definition, String)> = Vec::new();
    for path in paths {
        let bytes = std::fs::read(path).map_err(|error| unreadable(path, &error))?;
        let definition = parse_definition(path, &bytes)?;
        if read.iter().any(|(earlier, _)| earlier.id() == definition.id()) {
            return Err(Failure::usage(format!("{}: `{}` is given twice", path.display(), definition.id())));
        }
        let text = definition.text().to_owned();
        read.push((definition, text));
    }
    refuse_twins(&garage, &read)?;
    let mut kept = Vec::new();
    for (definition, text) in &read {
        let path: PathBuf = garage.keep_definition(definition.id(), text)?;
        kept.push((definition.id().clone(), shown(&path)));
    }
    let folder = shown(&garage.path().join("definitions"));
    session.show(&Kept { folder, kept })?;
    Ok(Exit::Done)
}

/// Refuses a definition that fits exactly the same modules as another one: neither would be used, and no journal with
/// such a module could be told any more.
fn refuse_twins(garage: &Garage, read: &[(Definition, String)]) -> Result<(), Failure> {
    let stays = |there: &&Definition| !read.iter().any(|(new, _)| new.id() == there.id());
    // A file in the garage that cannot be used must not keep its own mended version out.
    let Ok(there) = garage_definitions(garage) else { return Ok(()) };
    let all: Vec<Definition> = there.iter().filter(stays).chain(read.iter().map(|(new, _)| new)).cloned().collect();
    let of_new = |found: &ProblemIn| found.definition >= all.len() - read.len();
    match check_together(&all).into_iter().filter(of_new).find(|found| found.problem.at == "applies_to") {
        None => Ok(()),
        Some(found) => {
            let (id, message) = (all[found.definition].id(), found.problem.message);
            Err(Failure::refused(format!("`{id}` cannot be kept: {message}"))
                .hint("narrow `applies_to` in one of them, or give the new one the other's id to take its place"))
        }
    }
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}
