//! The command line.

use std::path::PathBuf;

use clap::{Parser, Subcommand};

use crate::commands;

/// A change journal for vehicle settings: what was found, what was altered, by whom and why,
/// proof that nothing else was, and the way back.
#[derive(Debug, Parser)]
#[command(name = "asfound", version, max_term_width = 100, disable_help_subcommand = true)]
#[command(after_help = "Exit codes: 0 done; 1 the answer is \"no\"; 2 wrong usage or input; 3 refused for safety or \
                        conflict; 4 the journal is damaged or out of reach.\n\nBegin with `asfound demo`.")]
pub struct Cli {
    /// The garage: the directory that holds the journals
    #[arg(long, global = true, value_name = "DIR", env = "ASFOUND_GARAGE", hide_env = true)]
    pub garage: Option<PathBuf>,

    /// Write JSON for other programs
    #[arg(long, global = true)]
    pub json: bool,

    /// Who files the entry: a name, or a name with an e-mail address in angle brackets
    #[arg(long, global = true, value_name = "NAME")]
    pub author: Option<String>,

    /// File it though the garage does not know this author, or does not know the key that signs as theirs
    #[arg(long, global = true)]
    pub as_said: bool,

    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
#[allow(missing_docs, reason = "each is documented where its arguments are")]
pub enum Command {
    Enrol(commands::enrol::Args),
    Vehicles(commands::vehicles::Args),
    Read(commands::read::Args),
    Import(commands::import::Args),
    Change(commands::change::Args),
    Note(commands::note::Args),
    Correct(commands::correct::Args),
    Entries(commands::entries::Args),
    Entry(commands::entry::Args),
    Settings(commands::settings::Args),
    Find(commands::find::Args),
    Suspects(commands::suspects::Args),
    Trial(commands::trial::Args),
    Compare(commands::compare::Args),
    Handover(commands::handover::Args),
    Logbook(commands::logbook::Args),
    PutBack(commands::put_back::Args),
    ReturnTo(commands::return_to::Args),
    Match(commands::match_other::Args),
    Plan(commands::plan::Args),
    Wire(commands::wire::Args),
    FileLog(commands::file_log::Args),
    Work(commands::work::Args),
    Order(commands::order::Args),
    Audit(commands::audit::Args),
    Explain(commands::explain::Args),
    Seal(commands::seal::Args),
    Disclose(commands::disclose::Args),
    Definition(commands::definition::Args),
    CodeTexts(commands::code_texts::Args),
    Key(commands::key::Args),
    Share(commands::share::Args),
    Pack(commands::pack::Args),
    Demo(commands::demo::Args),
}
