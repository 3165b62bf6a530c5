//! Runs the two programs and takes their times.

use std::num::NonZero;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use asfound_journal::audit::audit;
use asfound_journal::garage::Garage;

/// The times of several runs.
pub(crate) struct Times(Vec<Duration>);

impl Times {
    fn sorted(&self) -> Vec<Duration> {
        let mut times = self.0.clone();
        times.sort();
        times
    }

    pub(crate) fn median_exact(&self) -> f64 {
        self.sorted()[self.0.len() / 2].as_secs_f64()
    }

    /// In milliseconds.
    pub(crate) fn median(&self) -> u64 {
        u64::try_from(self.sorted()[self.0.len() / 2].as_millis()).unwrap()
    }

    /// In milliseconds.
    pub(crate) fn fastest(&self) -> u64 {
        u64::try_from(self.sorted()[0].as_millis()).unwrap()
    }
}

/// What both took.
pub(crate) struct Measured {
    pub(crate) fsck: Times,
    /// In one thread.
    pub(crate) alone: Times,
    /// In as many threads as there are cores.
    pub(crate) audit: Times,
}

/// Runs one after the other, several times; all once before, so that none pays for the cold disk.
pub(crate) fn in_turn(garage: &Path, runs: usize, entries: u32) -> Measured {
    let repository = garage.join("journals.git");
    let time = |run: &dyn Fn()| {
        let start = Instant::now();
        run();
        start.elapsed()
    };
    let mut times = [Vec::new(), Vec::new(), Vec::new()];
    for run in 0..=runs {
        let taken = [
            time(&|| git(&repository, &["fsck", "--no-progress"])),
            time(&|| check(garage, entries, NonZero::<usize>::MIN)),
            time(&|| check(garage, entries, threads())),
        ];
        for (times, taken) in times.iter_mut().zip(taken).filter(|_| run > 0) {
            times.push(taken);
        }
    }
    let [fsck, alone, audit] = times.map(Times);
    Measured { fsck, alone, audit }
}

/// As many as the command line uses.
pub(crate) fn threads() -> NonZero<usize> {
    std::thread::available_parallelism().unwrap_or(NonZero::<usize>::MIN)
}

/// What `asfound audit` does, opening the garage included.
fn check(garage: &Path, entries: u32, threads: NonZero<usize>) {
    let garage = Garage::open(garage).unwrap();
    let outcome = audit(garage.store(), &"wren".parse().unwrap(), threads, &mut |_| {}).unwrap();
    assert_eq!(outcome.findings, [], "the garage is sound");
    assert_eq!(outcome.entries_checked, entries);
    assert_eq!(outcome.leaves.len(), entries as usize);
}

/// The real git, without anybody's settings.
pub(crate) fn git_command(repository: &Path) -> Command {
    let mut command = Command::new("git");
    command.env("GIT_CONFIG_NOSYSTEM", "1").env("HOME", "/nonexistent").env("LC_ALL", "C");
    command.arg("--git-dir").arg(repository);
    command
}

pub(crate) fn git(repository: &Path, arguments: &[&str]) {
    let output = git_command(repository).args(arguments).output().unwrap();
    assert!(output.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
}

/// Makes loose objects of all that is packed.
pub(crate) fn unpack(repository: &Path) {
    let folder = repository.join("objects/pack");
    let aside = repository.join("aside");
    std::fs::rename(&folder, &aside).unwrap();
    std::fs::create_dir(&folder).unwrap();
    for entry in std::fs::read_dir(&aside).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "pack") {
            let pack = std::fs::File::open(path).unwrap();
            let status = git_command(repository).args(["unpack-objects", "-q"]).stdin(pack).status().unwrap();
            assert!(status.success());
        }
    }
    std::fs::remove_dir_all(&aside).unwrap();
}

/// The size of all files below, in bytes.
pub(crate) fn size(folder: &Path) -> u64 {
    let sizes = std::fs::read_dir(folder).unwrap().map(|entry| {
        let entry = entry.unwrap();
        if entry.file_type().unwrap().is_dir() { size(&entry.path()) } else { entry.metadata().unwrap().len() }
    });
    sizes.sum()
}

/// What it was measured on and with.
pub(crate) fn machine() -> String {
    let cores = threads();
    let version = Command::new("git").arg("--version").output().unwrap();
    let version = String::from_utf8_lossy(&version.stdout).trim().replace("git version", "git");
    format!("{cores} cores, {version}.")
}
