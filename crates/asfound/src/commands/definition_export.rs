//! `asfound definition export`

use std::path::PathBuf;

use asfound_odx::export;
use clap::Args as ClapArgs;

use crate::bounded_file::{LARGEST_TEXT, read_bounded};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::new_file::write_new;
use crate::screens::definition_exported::ExportSummary;
use crate::setup::{Session, parse_definition};

/// Write a definition as an ODX document (ISO 22901-1): one base variant with its records
#[derive(Debug, ClapArgs)]
#[command(after_help = "Example:\n  asfound definition export body.toml --to body.odx-d")]
pub struct Export {
    /// A definition file without errors
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// The document to write; it must not be there yet
    #[arg(long, value_name = "DOCUMENT")]
    pub to: PathBuf,
}

/// Runs the command.
pub fn run(args: &Export, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let bytes = read_bounded(&args.file, LARGEST_TEXT).map_err(|error| unreadable(&args.file, &error))?;
    let definition = parse_definition(&args.file, &bytes)?;
    let exported = export(&definition);
    write_new(&args.to, &exported.document)?;
    session.show(&ExportSummary { id: definition.id().clone(), file: args.to.clone(), left: exported.left })?;
    Ok(Exit::Done)
}
