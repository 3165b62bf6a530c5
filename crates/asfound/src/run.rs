//! From arguments to exit code.

use std::cell::RefCell;
use std::ffi::OsString;
use std::io::Write;

use asfound_core::document::{visible, visible_lines};
use asfound_report::wrapped;
use clap::{CommandFactory, Parser};
use clap_complete::CompleteEnv;

use crate::cli::{Cli, Command};
use crate::commands;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::setup::{Environment, Session, visible_json};

/// Answers the shell when it asks for completions (`COMPLETE=bash asfound` prints the script), and ends there.
pub fn complete() {
    CompleteEnv::with_factory(Cli::command).complete();
}

/// Runs the program once.
///
/// Answers go to `out`, everything else to `err`. `environment` is the surroundings to use; without it they are
/// looked at.
pub fn run(
    arguments: impl IntoIterator<Item = OsString>,
    environment: Option<Environment>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Exit {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    let asked_for_json = arguments.iter().any(|argument| argument == "--json");
    let cli = match Cli::try_parse_from(arguments) {
        Ok(cli) => cli,
        Err(error) => {
            let help = !error.use_stderr();
            let text = error.render();
            if asked_for_json && !help {
                return tell(&wrong_usage(&text.to_string()), true, (80, false), err);
            }
            let to: &mut dyn Write = if help { out } else { err };
            // There is nobody left to tell when neither stream can be written.
            let _ = write!(to, "{text}");
            return if help { Exit::Done } else { Exit::Usage };
        }
    };
    let environment = match environment.map_or_else(Environment::look, Ok) {
        Ok(environment) => environment,
        Err(failure) => return tell(&failure, cli.json, (80, false), err),
    };
    let (json, look) = (cli.json, (environment.width, environment.colour_of_errors));
    let (garage_option, author_option, as_said) = (cli.garage, cli.author, cli.as_said);
    let mut session = Session {
        environment,
        garage_option,
        author_option,
        as_said,
        json,
        out,
        err,
        indexes: RefCell::default(),
        notices: RefCell::default(),
        filed_as: RefCell::default(),
        last_filed: RefCell::default(),
        unwritten: None,
    };
    let answer = dispatch(cli.command, &mut session);
    for tag in session.disagreed() {
        session
            .say(&format!("the index of `{tag}` did not agree with the journal; it was thrown away and is made anew"));
    }
    // A command that was refused for one of these says so itself.
    if !matches!(answer, Err(Failure { exit: Exit::Refused, .. })) {
        for notice in session.notices.take() {
            session.say(&notice);
        }
    }
    for lock in session.removed_locks() {
        session.say(&format!("the lock {} was old and held by nobody known; it was removed", lock.display()));
    }
    match answer {
        Ok(exit) => exit,
        // What is filed is filed, whether or not it could be shown.
        Err(_) if session.unwritten.is_some() && !session.filed().is_empty() => {
            let filed: Vec<String> = session.filed().iter().map(|tag| format!("`{tag}`")).collect();
            let why = session.unwritten.take().unwrap_or_default();
            session.say(&format!(
                "the journal of {} was written; what was filed could not be shown: {why}",
                filed.join(", ")
            ));
            Exit::Done
        }
        Err(failure) => tell(&failure, json, look, session.err),
    }
}

/// Runs a command that files nothing, and runs it once more where it failed because an index did not agree with its journal.
fn reading(
    session: &mut Session<'_>,
    run: impl Fn(&mut Session<'_>) -> Result<Exit, Failure>,
) -> Result<Exit, Failure> {
    let before = session.disagreed();
    let answer = run(session);
    if answer.is_err() && session.disagreed() != before { run(session) } else { answer }
}

fn dispatch(command: Command, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match command {
        Command::Enrol(args) => commands::enrol::run(args, session),
        Command::Vehicles(args) => commands::vehicles::run(&args, session),
        Command::Read(args) => commands::read::run(&args, session),
        Command::Import(args) => commands::import::run(&args, session),
        Command::Change(args) => commands::change::run(args, session),
        Command::Note(args) => commands::note::run(&args, session),
        Command::Correct(args) => commands::correct::run(&args, session),
        Command::Entries(args) => commands::entries::run(&args, session),
        Command::Entry(args) => commands::entry::run(&args, session),
        Command::Settings(args) => commands::settings::run(&args, session),
        Command::Find(args) => commands::find::run(&args, session),
        Command::Suspects(args) => commands::suspects::run(&args, session),
        Command::Trial(args) => commands::trial::run(&args, session),
        Command::Compare(args) => commands::compare::run(&args, session),
        Command::Handover(args) => reading(session, |session| commands::handover::run(&args, session)),
        Command::Logbook(args) => reading(session, |session| commands::logbook::run(&args, session)),
        Command::PutBack(args) => commands::put_back::run(&args, session),
        Command::ReturnTo(args) => commands::return_to::run(&args, session),
        Command::Match(args) => commands::match_other::run(&args, session),
        Command::Plan(args) => commands::plan::run(&args, session),
        Command::Wire(args) => commands::wire::run(&args, session),
        Command::FileLog(args) => commands::file_log::run(&args, session),
        Command::Work(args) => commands::work::run(&args, session),
        Command::Order(args) => commands::order::run(&args, session),
        Command::Audit(args) => commands::audit::run(&args, session),
        Command::Explain(args) => commands::explain::run(&args, session),
        Command::Seal(args) => reading(session, |session| commands::seal::run(&args, session)),
        Command::Disclose(args) => reading(session, |session| commands::disclose::run(&args, session)),
        Command::Definition(args) => commands::definition::run(&args, session),
        Command::CodeTexts(args) => commands::code_texts::run(&args, session),
        Command::Key(args) => commands::key::run(&args, session),
        Command::Share(args) => commands::share::run(&args, session),
        Command::Pack(args) => commands::pack::run(&args, session),
        Command::Demo(args) => {
            commands::demo::run(&args, session, |line, environment, out, err| run(line, Some(environment), out, err))
        }
    }
}

/// The argument parser's own text as a failure: its first paragraph, and its tip where it gives one.
fn wrong_usage(text: &str) -> Failure {
    let mut paragraphs = text.split("\n\n").map(str::trim);
    let first = paragraphs.next().unwrap_or_default();
    let tip = paragraphs.find_map(|paragraph| paragraph.strip_prefix("tip: "));
    Failure::usage(first.strip_prefix("error: ").unwrap_or(first)).maybe_hint(tip)
}

/// Tells a failure on standard error, in JSON where JSON was asked for.
fn tell(failure: &Failure, json: bool, (width, colour): (u16, bool), err: &mut dyn Write) -> Exit {
    let text = if json {
        let value = serde_json::json!({
            "schema": "asfound/failure/1",
            "exit": failure.exit as u8,
            "message": failure.message,
            "hint": failure.hint,
        });
        format!("{}\n", visible_json(&format!("{value:#}")))
    } else {
        let message = visible_lines(&failure.message);
        let mut lines = message.lines();
        let mut text = wrapped(lines.next().unwrap_or_default(), width, "asfound: ", "         ");
        for line in lines {
            let indent = " ".repeat(line.len() - line.trim_start().len());
            text.push_str(&wrapped(line.trim_start(), width, &indent, &format!("{indent}  ")));
        }
        if let Some(hint) = &failure.hint {
            text.push_str(&wrapped(&visible(hint), width, "hint: ", "      "));
        }
        if colour {
            let style = anstyle::Style::new().bold();
            for mark in ["asfound:", "\nhint:"] {
                text = text.replacen(mark, &format!("{style}{mark}{style:#}"), 1);
            }
        }
        text
    };
    // There is nobody left to tell when standard error is gone.
    let _ = err.write_all(text.as_bytes());
    failure.exit
}
