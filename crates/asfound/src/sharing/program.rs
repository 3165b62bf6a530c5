//! The git program: its protocols, and whatever credentials it has.
//!
//! It works on a repository that was made for this exchange, with settings of our own. The user's own settings of git, in the
//! home folder and of the system, hold: they say how servers are reached. Nothing that a place or a garage brings along does.

use std::collections::BTreeMap;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use super::Address;
use crate::failure::Failure;
use crate::setup::git_variables;

/// How many references are sent at a time: a command line has its limits.
const PORTION: usize = 500;

/// The most bytes that are kept of what git says.
const LONGEST_SAID: usize = 1 << 24;

/// The protocols that are spoken. Others start a program that the address names.
const PROTOCOLS: &str = "file:git:http:https:ssh";

/// Settings that say which programs git runs by itself, set to none.
const NO_PROGRAMS: [&str; 5] = [
    "core.hooksPath=/dev/null",
    "core.fsmonitor=false",
    // The shell's own command that does nothing.
    "core.alternateRefsCommand=:",
    "gc.auto=0",
    "maintenance.auto=false",
];

/// The git program, at work for one garage.
pub struct GitProgram {
    repository: PathBuf,
    interactive: bool,
    wait: Duration,
}

/// What became of a reference that was sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentReference {
    /// The reference.
    pub name: String,
    /// Why the place did not take it, where it did not.
    pub refused: Option<String>,
}

/// A reference that is to be sent: the commit, and its name there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToSend {
    /// The commit.
    pub commit: String,
    /// The name.
    pub name: String,
}

impl GitProgram {
    /// Git for an exchange through `repository`, which was made for it. A place that says nothing for as long as `wait` is given up.
    pub fn new(repository: &Path, interactive: bool, wait: Duration) -> Self {
        Self { repository: repository.to_owned(), interactive, wait }
    }

    /// Fetches every journal and every kept line of a place into references below `into`, which ends in a slash. Hands back the
    /// references that the place names and cannot hand over, and what was said of each.
    ///
    /// # Errors
    /// When the place cannot be reached.
    pub fn fetch(&self, place: &Address, into: &str) -> Result<BTreeMap<String, String>, Failure> {
        let everything = ["heads", "kept"].map(|kind| format!("+refs/{kind}/*:{into}{kind}/*"));
        let Err(failed) = self.fetch_some(place, &everything, &["--prune"])? else { return Ok(BTreeMap::new()) };
        // One that is damaged there must not stop the others.
        let mut bad = BTreeMap::new();
        let names = self.names_at(place)?;
        for some in names.chunks(PORTION) {
            self.fetch_sound_ones(place, into, some, &mut bad)?;
        }
        if names.len() == bad.len() { Err(out_of_reach(place, &failed)) } else { Ok(bad) }
    }

    /// Fetches those of some references that can be had, and takes the others down.
    fn fetch_sound_ones(
        &self,
        place: &Address,
        into: &str,
        names: &[String],
        bad: &mut BTreeMap<String, String>,
    ) -> Result<(), Failure> {
        let below = |name: &String| name.strip_prefix("refs/").map(|rest| format!("+{name}:{into}{rest}"));
        let wanted: Vec<String> = names.iter().filter_map(below).collect();
        let Err(failed) = self.fetch_some(place, &wanted, &[])? else { return Ok(()) };
        if let [name] = names {
            bad.insert(name.clone(), said(&failed));
            return Ok(());
        }
        let (first, rest) = names.split_at(names.len() / 2);
        self.fetch_sound_ones(place, into, first, bad)?;
        self.fetch_sound_ones(place, into, rest, bad)
    }

    /// The journals and kept lines that the place names.
    fn names_at(&self, place: &Address) -> Result<Vec<String>, Failure> {
        let mut command = self.command();
        command.args(["ls-remote", "--refs"]);
        if place.is_local {
            command.arg(format!("--upload-pack={}", at_the_place("upload-pack")));
        }
        command.args(["--", &place.for_git, "refs/heads/*", "refs/kept/*"]);
        let output = self.run(place, &mut command)?;
        if !output.status.success() {
            return Err(out_of_reach(place, &output));
        }
        let text = String::from_utf8_lossy(&output.stdout);
        Ok(text.lines().filter_map(|line| Some(line.split_once('\t')?.1.to_owned())).collect())
    }

    fn fetch_some(&self, place: &Address, wanted: &[String], options: &[&str]) -> Result<Result<(), Output>, Failure> {
        let mut command = self.command();
        command.args([
            "-c",
            "fetch.fsckObjects=true",
            "fetch",
            // So that something is said as long as something is done.
            "--progress",
            "--no-tags",
            "--no-write-fetch-head",
            "--no-auto-maintenance",
        ]);
        if place.is_local {
            command.arg(format!("--upload-pack={}", at_the_place("upload-pack")));
        }
        command.args(options);
        command.args(["--no-recurse-submodules", "--", &place.for_git]).args(wanted);
        let output = self.run(place, &mut command)?;
        Ok(if output.status.success() { Ok(()) } else { Err(output) })
    }

    /// Sends references, each only where it goes on from what the place has.
    ///
    /// # Errors
    /// When the place cannot be reached.
    pub fn send(&self, place: &Address, references: &[ToSend]) -> Result<Vec<SentReference>, Failure> {
        let mut sent = Vec::new();
        for portion in references.chunks(PORTION) {
            let mut command = self.command();
            command.args(["push", "--porcelain", "--no-verify", "--no-follow-tags", "--recurse-submodules=no"]);
            command.args(["--no-signed", "--no-thin", "--progress"]);
            if place.is_local {
                command.arg(format!("--receive-pack={}", at_the_place("receive-pack")));
            }
            command.arg("--").arg(&place.for_git);
            command.args(portion.iter().map(|reference| format!("{}:{}", reference.commit, reference.name)));
            let output = self.run(place, &mut command)?;
            let told = told(&String::from_utf8_lossy(&output.stdout));
            if told.is_empty() {
                return Err(out_of_reach(place, &output));
            }
            sent.extend(told);
        }
        Ok(sent)
    }

    fn command(&self) -> Command {
        let mut command = Command::new("git");
        for name in git_variables() {
            command.env_remove(name);
        }
        command.arg("--git-dir").arg(&self.repository).stdin(Stdio::null());
        for setting in NO_PROGRAMS {
            command.args(["-c", setting]);
        }
        // What is fetched is examined first, and written anew where it is taken over.
        command.args(["-c", "core.fsync=none"]);
        command.env("GIT_ALLOW_PROTOCOL", PROTOCOLS).env("GIT_NO_LAZY_FETCH", "1");
        // What is carried is what was written, whatever git was told to show in its place.
        command.env("LC_ALL", "C").env("GIT_NO_REPLACE_OBJECTS", "1");
        if !self.interactive {
            command.env("GIT_TERMINAL_PROMPT", "0");
        }
        command
    }
}

/// The program at a place on this machine, as the shell takes it: it works on the place's own repository, with none of the
/// hooks and programs that this one names, reaching nothing further, and what it writes lasts.
fn at_the_place(what: &str) -> String {
    let mut line = "GIT_ALLOW_PROTOCOL= GIT_NO_LAZY_FETCH=1 git".to_owned();
    for setting in NO_PROGRAMS.into_iter().chain(["receive.autogc=false", "core.fsync=all"]) {
        line.push_str(&format!(" -c {setting}"));
    }
    line.push(' ');
    line.push_str(what);
    line
}

impl GitProgram {
    /// Runs git to its end, unless it says nothing for too long.
    fn run(&self, place: &Address, command: &mut Command) -> Result<Output, Failure> {
        let mut child = started(command.stdout(Stdio::piped()).stderr(Stdio::piped()))?;
        let (tell, told) = mpsc::channel();
        let out = read_beside(child.stdout.take(), tell.clone());
        let err = read_beside(child.stderr.take(), tell);
        loop {
            match told.recv_timeout(self.wait) {
                Ok(()) => {}
                Err(RecvTimeoutError::Disconnected) => break,
                Err(RecvTimeoutError::Timeout) => {
                    // Its own helpers end with what they read from and write to.
                    let _ = child.kill();
                    let _ = child.wait();
                    let seconds = self.wait.as_secs();
                    return Err(Failure::damaged(format!("{} has said nothing for {seconds} s", place.shown))
                        .hint("try again later, or give it longer with `--wait SECONDS`; nothing was lost here"));
                }
            }
        }
        let ended =
            |error: std::io::Error| Failure::damaged(format!("the program `git` cannot be waited for: {error}"));
        let status = child.wait().map_err(ended)?;
        Ok(Output { status, stdout: out.join().unwrap_or_default(), stderr: err.join().unwrap_or_default() })
    }
}

/// Reads a stream to its end, and tells whenever something came.
fn read_beside(stream: Option<impl Read + Send + 'static>, tell: mpsc::Sender<()>) -> JoinHandle<Vec<u8>> {
    thread::spawn(move || {
        let (mut all, mut some) = (Vec::new(), [0; 4096]);
        let Some(mut stream) = stream else { return all };
        while let Ok(read @ 1..) = stream.read(&mut some) {
            // What a server says beyond any measure is not kept.
            if all.len() < LONGEST_SAID {
                all.extend_from_slice(&some[..read]);
            }
            let _ = tell.send(());
        }
        all
    })
}

fn started(command: &mut Command) -> Result<Child, Failure> {
    command.spawn().map_err(|error| {
        let failure = Failure::damaged(format!("the program `git` cannot be started: {error}"));
        if error.kind() == ErrorKind::NotFound {
            failure.hint("journals are shared by git: install it")
        } else {
            failure
        }
    })
}

/// The lines of the porcelain form: a mark, the reference here and there, what happened; separated by tabs.
fn told(text: &str) -> Vec<SentReference> {
    let line = |line: &str| {
        let mut parts = line.split('\t');
        let (mark, names, what) = (parts.next()?, parts.next()?, parts.next()?);
        let (_, name) = names.split_once(':')?;
        let refused = (mark == "!").then(|| what.replace(['[', ']'], ""));
        Some(SentReference { name: name.to_owned(), refused })
    };
    text.lines().filter_map(line).collect()
}

/// What git says of a place that it cannot reach.
fn out_of_reach(place: &Address, output: &Output) -> Failure {
    let said = said(output);
    let hint = HINTS.iter().find(|(words, _)| said.contains(words)).map_or(
        "check the address, the connection and that git has your credentials; nothing was lost here",
        |(_, hint)| hint,
    );
    Failure::damaged(format!("{} cannot be shared with: {said}", place.shown)).hint(hint)
}

/// What to do about some of what git says.
const HINTS: [(&str, &str); 5] = [
    ("dubious ownership", "the repository there belongs to another account: share from that account, or by a server"),
    ("No space left", "the disk there, or here, is full: make room and share again; nothing was lost here"),
    ("quota exceeded", "the disk there, or here, is full: make room and share again; nothing was lost here"),
    ("insufficient permission", "your account may not write there: check who owns the repository"),
    ("Could not resolve host", "check the name of the server and the connection; nothing was lost here"),
];

/// How git tells how far it is; of no use once it has failed.
const PROGRESS: [&str; 13] = [
    "Enumerating objects",
    "Counting objects",
    "Compressing objects",
    "Receiving objects",
    "Resolving deltas",
    "Unpacking objects",
    "Writing objects",
    "Checking connectivity",
    "Delta compression",
    "Total ",
    "From ",
    "To ",
    "* [new ",
];

/// Why git has failed, in its own words.
fn said(output: &Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr);
    let is_progress = |line: &str| {
        let line = line.strip_prefix("remote: ").unwrap_or(line);
        PROGRESS.iter().any(|begin| line.starts_with(begin))
    };
    let lines = said.split(['\n', '\r']).map(str::trim);
    let lines = lines.filter(|line| !line.is_empty() && !line.starts_with("hint:") && !is_progress(line));
    let lines: Vec<&str> = lines.map(|line| line.strip_prefix("fatal: ").unwrap_or(line)).collect();
    if lines.is_empty() { "git says nothing of why".to_owned() } else { lines.join("; ") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_became_of_each_reference() {
        let text = "To /srv/cars.git\n \trefs/heads/rook:refs/heads/rook\t1..2\n=\trefs/heads/a:refs/heads/a\t[up to date]\n\
                    !\trefs/heads/wren:refs/heads/wren\t[rejected] (fetch first)\nDone\n";
        let sent = told(text);
        let refused = sent.iter().map(|sent| (sent.name.as_str(), sent.refused.as_deref()));
        assert_eq!(
            refused.collect::<Vec<_>>(),
            [("refs/heads/rook", None), ("refs/heads/a", None), ("refs/heads/wren", Some("rejected (fetch first)"))]
        );
    }
}
