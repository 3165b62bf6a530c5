//! Starts programs and takes their times.

use std::fmt;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

/// A program with its arguments, to be started again and again.
pub(crate) struct Command {
    program: std::path::PathBuf,
    arguments: Vec<String>,
}

/// The program, built as this benchmark is.
pub(crate) fn asfound(garage: &Path, arguments: &[&str]) -> Command {
    let author = ["--author", "Edda Brandt"].map(str::to_owned);
    let mut all = vec!["--garage".to_owned(), garage.display().to_string()];
    all.extend(author);
    all.extend(arguments.iter().map(|argument| (*argument).to_owned()));
    Command { program: env!("CARGO_BIN_EXE_asfound").into(), arguments: all }
}

pub(crate) fn git_on(repository: &Path, arguments: &[&str]) -> Command {
    let mut all = vec!["--git-dir".to_owned(), repository.display().to_string()];
    all.extend(arguments.iter().map(|argument| (*argument).to_owned()));
    Command { program: "git".into(), arguments: all }
}

pub(crate) fn program(name: &str, arguments: &[&str]) -> Command {
    Command { program: name.into(), arguments: arguments.iter().map(|argument| (*argument).to_owned()).collect() }
}

impl Command {
    fn start(&self) -> std::process::Command {
        let mut command = std::process::Command::new(&self.program);
        command.args(&self.arguments).stdin(Stdio::null()).stderr(Stdio::null());
        command.env("GIT_CONFIG_NOSYSTEM", "1").env("HOME", "/nonexistent").env("LC_ALL", "C").env("GIT_PAGER", "cat");
        command
    }

    /// How long it takes, its output read to the end.
    pub(crate) fn time(&self) -> Duration {
        let start = Instant::now();
        let output = self.start().stdout(Stdio::piped()).output().unwrap();
        let elapsed = start.elapsed();
        assert!(output.status.success(), "{} {:?} failed", self.program.display(), self.arguments);
        assert!(!output.stdout.is_empty(), "{} {:?} says nothing", self.program.display(), self.arguments);
        elapsed
    }
}

/// How often its output has something.
pub(crate) fn lines(command: &Command, what: &str) -> usize {
    let output = command.start().stdout(Stdio::piped()).output().unwrap();
    String::from_utf8(output.stdout).unwrap().matches(what).count()
}

/// The most memory that it had at any moment, in KiB; nothing where the system does not tell.
pub(crate) fn peak(command: &Command) -> Option<u64> {
    Some(high_water(&mut command.start().stdout(Stdio::null()).spawn().unwrap())).filter(|most| *most > 0)
}

/// The most memory of a whole run in KiB, and how long it took; it may answer no, and must not fail otherwise.
pub(crate) fn memory(command: &Command) -> (u64, Duration) {
    let start = Instant::now();
    let mut child = command.start().stdout(Stdio::null()).spawn().unwrap();
    let most = high_water(&mut child);
    let status = child.wait().unwrap();
    assert!(status.code().is_some_and(|code| code < 2), "{:?} failed", command.arguments);
    (most, start.elapsed())
}

/// Waits until a program ends, and says the most memory that it had at any moment, in KiB: `VmHWM` of `/proc/PID/status`
/// (`proc_pid_status(5)`).
pub(crate) fn high_water(child: &mut std::process::Child) -> u64 {
    let path = format!("/proc/{}/status", child.id());
    let mut most = 0;
    while child.try_wait().unwrap().is_none() {
        let text = std::fs::read_to_string(&path).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        most = most.max(line.and_then(|line| line.trim().strip_suffix(" kB")?.trim().parse().ok()).unwrap_or(0));
        std::thread::sleep(Duration::from_micros(200));
    }
    most
}

/// The median and the fastest of several runs.
pub(crate) struct Shown {
    median: Duration,
    fastest: Duration,
}

impl Shown {
    pub(crate) fn median(&self) -> Duration {
        self.median
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", tenths(self.median), tenths(self.fastest))
    }
}

/// Milliseconds, with a tenth where that matters.
fn tenths(time: Duration) -> String {
    let ms = time.as_secs_f64() * 1000.0;
    if ms < 100.0 { format!("{ms:.1}") } else { format!("{ms:.0}") }
}

pub(crate) fn milliseconds(time: Duration) -> String {
    format!("{} ms", tenths(time))
}

/// Runs one after the other, several times; all once before, so that none pays for the cold disk.
pub(crate) fn in_turn<const N: usize>(commands: &[Option<Command>; N], runs: usize) -> [Option<Shown>; N] {
    let mut times: [Vec<Duration>; N] = std::array::from_fn(|_| Vec::new());
    for run in 0..=runs {
        for (command, times) in commands.iter().zip(&mut times) {
            if let Some(time) = command.as_ref().map(Command::time)
                && run > 0
            {
                times.push(time);
            }
        }
    }
    times.map(shown)
}

/// The median and the fastest; nothing where there are none.
pub(crate) fn shown(mut times: Vec<Duration>) -> Option<Shown> {
    times.sort();
    Some(Shown { median: *times.get(times.len() / 2)?, fastest: *times.first()? })
}

pub(crate) fn in_milliseconds(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}
