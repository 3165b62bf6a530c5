//! Runs the two programs and takes their times.

use std::num::NonZero;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use asfound_journal::audit::{AuditOptions, audit};
use asfound_journal::garage::Garage;
use asfound_journal::sign::AllowedSigners;

use crate::git::git;

/// What one run took.
#[derive(Clone, Copy)]
pub(crate) struct Run {
    pub(crate) elapsed: Duration,
    /// The time of the processor, where the system tells it.
    pub(crate) processor: Option<Duration>,
}

/// Several runs, the fastest first.
pub(crate) struct Runs(Vec<Run>);

impl Runs {
    fn of(mut runs: Vec<Run>) -> Self {
        runs.sort_by_key(|run| run.elapsed);
        Self(runs)
    }

    pub(crate) fn median(&self) -> Run {
        self.0[self.0.len() / 2]
    }

    pub(crate) fn fastest(&self) -> Run {
        self.0[0]
    }
}

/// The processor time of this process and of those that it waited for, from `/proc/self/stat` (`proc_pid_stat(5)`, fields 14 to
/// 17, in ticks of a hundredth of a second).
fn processor() -> Option<Duration> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let (_, fields) = stat.rsplit_once(") ")?;
    let ticks: u64 = fields.split(' ').skip(11).take(4).filter_map(|field| field.parse::<u64>().ok()).sum();
    Some(Duration::from_millis(ticks * 10))
}

fn time(run: &dyn Fn()) -> Run {
    let (start, before) = (Instant::now(), processor());
    run();
    let elapsed = start.elapsed();
    Run { elapsed, processor: processor().zip(before).map(|(after, before)| after.saturating_sub(before)) }
}

/// What each took.
pub(crate) struct Measured {
    pub(crate) fsck: Runs,
    /// In one thread.
    pub(crate) alone: Runs,
    /// In as many threads as there are cores.
    pub(crate) audit: Runs,
}

/// Runs one after the other, several times; all once before, so that none pays for the cold disk.
pub(crate) fn in_turn(garage: &Path, runs: usize, entries: u32) -> Measured {
    let repository = garage.join("journals.git");
    let mut runs_of = [Vec::new(), Vec::new(), Vec::new()];
    for run in 0..=runs {
        let taken = [
            time(&|| git(&repository, &["fsck", "--no-progress"])),
            time(&|| audit_alone(garage, entries, NonZero::<usize>::MIN)),
            time(&|| audit_alone(garage, entries, threads())),
        ];
        for (times, taken) in runs_of.iter_mut().zip(taken).filter(|_| run > 0) {
            times.push(taken);
        }
    }
    let [fsck, alone, audit] = runs_of.map(Runs::of);
    Measured { fsck, alone, audit }
}

/// As many as the command line uses.
pub(crate) fn threads() -> NonZero<usize> {
    std::thread::available_parallelism().unwrap_or(NonZero::<usize>::MIN)
}

/// Has this program start itself for one audit and nothing else.
pub(crate) const ALONE: &str = "--audit-alone";

/// One audit in a process of its own, as `git fsck` is.
fn audit_alone(garage: &Path, entries: u32, threads: NonZero<usize>) {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.args([ALONE, "--bench"]).arg(garage).args([entries.to_string(), threads.to_string()]);
    assert!(command.status().unwrap().success());
}

/// What `asfound audit` does, opening the garage included.
pub(crate) fn check(garage: &Path, entries: u32, threads: NonZero<usize>) {
    let garage = Garage::open(garage).unwrap();
    let outcome = audit(
        garage.store(),
        &"wren".parse().unwrap(),
        AuditOptions { allowed: &AllowedSigners::default(), threads },
        &mut |_| {},
    )
    .unwrap();
    assert_eq!(outcome.findings, [], "the garage is sound");
    assert_eq!(outcome.entries_checked, entries);
    assert_eq!(outcome.leaves.len(), entries as usize);
}
