//! `asfound code-texts`

use std::path::{Path, PathBuf};

use asfound_capture::descriptions::DescriptionTable;
use asfound_capture::table::slug_of;
use asfound_core::names::DefinitionId;
use asfound_core::trouble_code::TroubleCode;
use asfound_journal::Digest;
use asfound_journal::garage::{DescriptionsForm, Garage};
use clap::{Args as ClapArgs, Subcommand};

use crate::bounded_file::{LARGEST_TEXT, read_bounded};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::screens::described::{CodeDescribed, TableLoaded, Tables};
use crate::setup::{Descriptions, LoadedTable, Session};

/// Load tables that say what trouble codes mean, and look codes up in them.
///
/// None comes with this program. What is shown from a table names the table, and whoever loaded it answers for it.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound code-texts load codes.csv\n  asfound code-texts code C0035-11\n\n\
                  Tables are described in docs/trouble-codes.md.")]
pub struct Args {
    /// What to do
    #[command(subcommand)]
    pub action: Action,
}

/// What to do with descriptions.
#[derive(Debug, Subcommand)]
pub enum Action {
    /// Keep a table in the garage: a table with the columns `code` and `description`, or TOML
    #[command(
        after_help = "Examples:\n  asfound code-texts load codes.csv\n  asfound code-texts load codes.toml --as workshop"
    )]
    Load {
        /// The table; `.toml` is read as TOML, every other ending as a table of cells
        #[arg(value_name = "FILE")]
        file: PathBuf,

        /// The name under which it is kept, else the file's; an earlier table of that name is replaced
        #[arg(long = "as", value_name = "NAME")]
        name: Option<String>,
    },
    /// List the tables in the garage
    #[command(after_help = "Example:\n  asfound code-texts tables")]
    Tables,
    /// Tell what the form of a code says, and what the tables say of it
    #[command(after_help = "Example:\n  asfound code-texts code C0035-11")]
    Code {
        /// The code
        code: TroubleCode,
    },
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Load { file, name } => load(file, name.as_deref(), session),
        Action::Tables => {
            let Descriptions { tables } = Descriptions::open(&session.garage()?)?;
            session.show(&Tables { tables })?;
            Ok(Exit::Done)
        }
        Action::Code { code } => {
            // The form of a code needs no garage, so that one may be missing.
            let path = session.garage_path()?;
            let described = if path.exists() { Descriptions::open(&Garage::open(&path)?)?.find(code) } else { None };
            session.show(&CodeDescribed { code: code.clone(), described })?;
            Ok(Exit::Done)
        }
    }
}

fn load(file: &Path, name: Option<&str>, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let bytes = read_bounded(file, LARGEST_TEXT).map_err(|error| unreadable(file, &error))?;
    let toml = file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml"));
    let table = DescriptionTable::parse(&bytes, toml).map_err(|error| {
        Failure::usage(format!("{}: {error}", file.display())).hint("docs/trouble-codes.md shows both forms")
    })?;
    let name = name_of(file, name)?;
    let (garage, _) = session.garage_or_new()?;
    let form = if toml { DescriptionsForm::Toml } else { DescriptionsForm::Table };
    garage.keep_descriptions(&name, form, &bytes)?;
    let loaded = LoadedTable { name: name.to_string(), digest: Digest::of(&bytes), table };
    session.show(&TableLoaded { loaded })?;
    Ok(Exit::Done)
}

/// The name under which a table is kept.
fn name_of(file: &Path, given: Option<&str>) -> Result<DefinitionId, Failure> {
    let stem = file.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    let text = given.map_or_else(|| slug_of(&stem).unwrap_or_default().replace('_', "-"), str::to_owned);
    text.parse().map_err(|_| {
        Failure::usage(format!("`{text}` cannot be the name of a table of descriptions"))
            .hint("give one with `--as NAME`: a to z, 0 to 9 and `-`, starting with a letter")
    })
}
