//! `asfound audit`

use std::io::Write;
use std::num::NonZero;
use std::time::{Duration, Instant};

use asfound_core::names::Tag;
use asfound_journal::audit::{Audit, Level, Progress, audit};
use asfound_journal::store::Store;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::audited::Audited;
use crate::setup::Session;

/// Verify every entry of one journal, or of all: that nothing was altered, removed or put in between.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound audit wren
  asfound audit --json

Exit codes: 0 sound, doubts and remarks included; 1 something was tampered with; 4 something cannot be read.
What an audit can prove and what it cannot is in docs/proof.md.")]
pub struct Args {
    /// The vehicle; without it, every journal of the garage
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Option<Tag>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let garage = session.garage()?;
    let store = garage.store();
    let tags = match &args.tag {
        Some(tag) => vec![tag.clone()],
        None => store.tags()?,
    };
    let threads = std::thread::available_parallelism().unwrap_or(NonZero::<usize>::MIN);
    // Either tells that somebody watches: standard error shows colour, or somebody can be asked.
    let watched = session.environment.colour_of_errors || session.environment.interactive;
    let mut teller = Teller::new(watched.then_some(&mut *session.err));
    let mut audits = Vec::new();
    for tag in tags {
        audits.push(audit(store, &tag, threads, &mut |progress| teller.tell(&tag, progress))?);
    }
    teller.wipe();
    let exit = exit_for(&audits);
    session.show(&Audited { garage: garage.path().to_owned(), one: args.tag.is_some(), audits })?;
    Ok(exit)
}

/// What was tampered with is a certain answer, whatever else cannot be read.
fn exit_for(audits: &[Audit]) -> Exit {
    match audits.iter().filter_map(Audit::worst).max() {
        Some(Level::Tampering) => Exit::No,
        Some(Level::Unreadable) => Exit::Damaged,
        _ => Exit::Done,
    }
}

/// Tells how far an audit is, once it takes longer than a moment, on one line that is written over.
struct Teller<'w> {
    to: Option<&'w mut dyn Write>,
    next: Instant,
    shown: usize,
}

impl<'w> Teller<'w> {
    const PATIENCE: Duration = Duration::from_secs(1);
    const PACE: Duration = Duration::from_millis(200);

    fn new(to: Option<&'w mut dyn Write>) -> Self {
        Self { to, next: Instant::now() + Self::PATIENCE, shown: 0 }
    }

    fn tell(&mut self, tag: &Tag, progress: Progress) {
        let now = Instant::now();
        if self.to.is_none() || now < self.next {
            return;
        }
        self.next = now + Self::PACE;
        self.write(&format!("{tag}: {} of {} entries", progress.checked, progress.total));
    }

    fn wipe(&mut self) {
        if self.shown > 0 {
            self.write("");
            self.write("\r");
        }
    }

    fn write(&mut self, text: &str) {
        let length = text.chars().count();
        if let Some(to) = &mut self.to {
            // Nobody is left to tell when standard error is gone.
            let _ = write!(to, "\r{text}{}", " ".repeat(self.shown.saturating_sub(length)));
            let _ = to.flush();
        }
        self.shown = length;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn progress_is_told_after_a_second_and_wiped() {
        let mut out = Vec::new();
        let tag: Tag = "wren".parse().unwrap();
        let mut teller = Teller::new(Some(&mut out));
        teller.tell(&tag, Progress { checked: 1, total: 9 });
        teller.next = Instant::now();
        teller.tell(&tag, Progress { checked: 10, total: 12 });
        teller.tell(&tag, Progress { checked: 11, total: 12 });
        teller.next = Instant::now();
        teller.tell(&tag, Progress { checked: 9, total: 9 });
        teller.wipe();
        assert_eq!(
            String::from_utf8(out).unwrap(),
            "\rwren: 10 of 12 entries\rwren: 9 of 9 entries  \r                    \r\r"
        );
    }

    #[test]
    fn nobody_is_told_who_does_not_watch() {
        let mut teller = Teller::new(None);
        teller.next = Instant::now();
        teller.tell(&"wren".parse().unwrap(), Progress { checked: 1, total: 9 });
        assert_eq!(teller.shown, 0);
    }
}
