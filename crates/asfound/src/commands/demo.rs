//! `asfound demo`

use std::path::PathBuf;

use clap::Args as ClapArgs;

use crate::demo::{RunCommand, play};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::setup::Session;

/// Play the whole story on an invented car in a fresh garage, and leave it there to explore.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound demo\n  asfound demo --in ./asfound-demo")]
pub struct Args {
    /// The folder to play in; without it, a new temporary one
    #[arg(long = "in", value_name = "FOLDER")]
    pub folder: Option<PathBuf>,
}

/// Runs the command; `run` runs each command of the story.
///
/// # Errors
/// When the folder cannot be written, or a command of the story ends otherwise than it should.
pub fn run(args: &Args, session: &mut Session<'_>, run: RunCommand) -> Result<Exit, Failure> {
    if session.json {
        return Err(Failure::usage("the demonstration is for people; every command in it has `--json` of its own"));
    }
    let folder = match &args.folder {
        Some(folder) => std::path::absolute(folder).unwrap_or_else(|_| folder.clone()),
        None => tempfile::Builder::new()
            .prefix("asfound-demo-")
            .tempdir()
            .map_err(|error| Failure::damaged(format!("no temporary folder can be made: {error}")))?
            .keep(),
    };
    play(&folder, session, run)
}
