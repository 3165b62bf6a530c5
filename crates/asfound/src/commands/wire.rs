//! `asfound wire`

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use asfound_wire::conversation::ModuleAddress;
use asfound_wire::listening::{BusEvent, ListenerOptions};
use asfound_wire::pairing::PairOverride;
use clap::{Args as ClapArgs, Subcommand};

use crate::bus_log::{Buses, LogSummary, hear};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::log_hint::{no_log, unread};
use crate::screens::wire::{BusLogScreen as Shown, broken_line, message_line};
use crate::setup::Session;

/// Look into bus logs, without any garage.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound wire show drive.log\n  asfound wire show drive.log --json")]
pub struct Args {
    /// What to do
    #[command(subcommand)]
    pub action: Action,
}

/// What to do with a bus log.
#[derive(Debug, Subcommand)]
pub enum Action {
    /// Show what was asked and answered; with --json one line for each message, and a last one for the whole log
    ///
    /// Reads candump text, pcap and pcapng, also compressed with gzip or zstd. Which identifiers carry diagnostics is found by
    /// what is seen. Seeds and keys are blanked.
    #[command(after_help = "Examples:\n  asfound wire show drive.log\n  asfound wire show drive.pcapng.gz --json\n  \
                            asfound wire show drive.log --pair 17FC007B:17FE007B")]
    Show {
        /// The log; `-` is standard input, also of a logger that is still running
        #[arg(value_name = "LOG")]
        log: PathBuf,

        /// Take these identifiers for a pair: request, response; an address byte in front stands after a slash
        #[arg(long = "pair", value_name = "ID:ID")]
        pairs: Vec<PairOverride>,

        /// Look for no other pairs
        #[arg(long, requires = "pairs")]
        only_these: bool,
    },
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Show { log, pairs, only_these } => {
            let options =
                ListenerOptions { pairs: pairs.clone(), only_these_pairs: *only_these, ..ListenerOptions::default() };
            show(log, options, session)
        }
    }
}

fn show(log: &Path, options: ListenerOptions, session: &mut Session<'_>) -> Result<Exit, Failure> {
    // A logger that is still running writes to standard input.
    let running = log == Path::new("-");
    let file: Box<dyn Read + Send> = if running {
        Box::new(std::io::stdin())
    } else {
        Box::new(File::open(log).map_err(|error| unreadable(log, &error))?)
    };
    let mut shown = Shown::new(log, session.environment.zone.clone());
    let json = session.json;
    // The first line that cannot be written ends the writing, and is told at the end.
    let mut written = Ok(());
    let out = &mut *session.out;
    let mut take = |heard: &BusEvent, buses: &Buses| {
        let line = match heard {
            BusEvent::Message(message) => {
                shown.messages += 1;
                json.then(|| message_line(message, buses))
            }
            BusEvent::Broken(broken) => {
                shown.broken(broken.why);
                json.then(|| broken_line(broken, buses))
            }
            BusEvent::Problem(problem) => {
                shown.problem(problem);
                None
            }
            BusEvent::Ip(_) => None,
        };
        if let (Some(line), Ok(())) = (line, &written) {
            written = writeln!(out, "{line}");
            if running && written.is_ok() {
                written = out.flush();
            }
        }
    };
    let hearing = hear(file, options, &|_: &ModuleAddress, _| None, &mut take, &mut |_, _, _| {});
    let LogSummary { facts, altogether, conversations, buses } = hearing.map_err(|error| unread(log, &error))?;
    if told(written)? {
        return Ok(Exit::Done);
    }
    if facts.frames + facts.ip_messages == 0 {
        return Err(no_log(log, &facts));
    }
    shown.finish(facts, altogether, conversations, buses);
    if json {
        let line = format!("{}\n", shown.last_line());
        told(session.out.write_all(line.as_bytes()))?;
    } else {
        session.show(&shown)?;
    }
    Ok(Exit::Done)
}

/// Whether the reader of what is written has left, which is no failure.
fn told(written: std::io::Result<()>) -> Result<bool, Failure> {
    match written {
        Ok(()) => Ok(false),
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(true),
        Err(error) => Err(unreadable(Path::new("standard output"), &error)),
    }
}
