//! Runs the two programs and takes their times.

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
    pub(crate) audit: Times,
}

/// Runs one, then the other, several times; both once before, so that neither pays for the cold disk.
pub(crate) fn in_turn(garage: &Path, runs: usize, entries: u32) -> Measured {
    let repository = garage.join("journals.git");
    let mut measured = Measured { fsck: Times(Vec::new()), audit: Times(Vec::new()) };
    for run in 0..=runs {
        let start = Instant::now();
        git(&repository, &["fsck", "--no-progress"]);
        let fsck = start.elapsed();
        let start = Instant::now();
        check(garage, entries);
        let audit = start.elapsed();
        if run > 0 {
            measured.fsck.0.push(fsck);
            measured.audit.0.push(audit);
        }
    }
    measured
}

/// What `asfound audit` does, opening the garage included.
fn check(garage: &Path, entries: u32) {
    let garage = Garage::open(garage).unwrap();
    let outcome = audit(garage.store(), &"wren".parse().unwrap(), &mut |_| {}).unwrap();
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
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let version = Command::new("git").arg("--version").output().unwrap();
    let version = String::from_utf8_lossy(&version.stdout).trim().replace("git version", "git");
    format!("{cores} cores, {version}; the audit is one thread.")
}
