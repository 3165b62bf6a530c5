//! The git program: its protocols, and whatever credentials it has.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use super::Address;
use crate::failure::Failure;

/// How many references are sent at a time: a command line has its limits.
const PORTION: usize = 500;

/// The git program, at work for one garage.
pub struct GitProgram {
    repository: PathBuf,
    interactive: bool,
}

/// What became of a reference that was sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentReference {
    /// The reference.
    pub name: String,
    /// Why the place did not take it, where it did not.
    pub refused: Option<String>,
}

impl GitProgram {
    /// Git for the journals in `repository`.
    pub fn new(repository: &Path, interactive: bool) -> Self {
        Self { repository: repository.to_owned(), interactive }
    }

    /// Fetches every journal and every kept line of a place into references below `into`, which ends in a slash.
    ///
    /// # Errors
    /// When the place cannot be reached.
    pub fn fetch(&self, place: &Address, into: &str) -> Result<(), Failure> {
        let mut command = self.command();
        command.args([
            "-c",
            "fetch.fsckObjects=true",
            "fetch",
            "--quiet",
            "--prune",
            "--no-tags",
            "--no-write-fetch-head",
        ]);
        command.args(["--no-recurse-submodules", "--", &place.for_git]);
        command.args(["heads", "kept"].map(|kind| format!("+refs/{kind}/*:{into}{kind}/*")));
        let output = run(&mut command)?;
        if output.status.success() { Ok(()) } else { Err(out_of_reach(place, &output)) }
    }

    /// Sends references, each only where it goes on from what the place has.
    ///
    /// # Errors
    /// When the place cannot be reached.
    pub fn send(&self, place: &Address, names: &[String]) -> Result<Vec<SentReference>, Failure> {
        let mut sent = Vec::new();
        for portion in names.chunks(PORTION) {
            let mut command = self.command();
            command.args(["push", "--porcelain", "--no-verify", "--no-follow-tags", "--recurse-submodules=no", "--"]);
            command.arg(&place.for_git).args(portion.iter().map(|name| format!("{name}:{name}")));
            let output = run(&mut command)?;
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
        command.arg("--git-dir").arg(&self.repository).stdin(Stdio::null());
        // What git writes here lasts as what this program writes; and it packs nothing by itself.
        command.args(["-c", "core.fsync=all", "-c", "gc.auto=0", "-c", "maintenance.auto=false"]);
        // What is carried is what was written, whatever git was told to show in its place.
        command.env("LC_ALL", "C").env("GIT_NO_REPLACE_OBJECTS", "1");
        if !self.interactive {
            command.env("GIT_TERMINAL_PROMPT", "0");
        }
        command
    }
}

fn run(command: &mut Command) -> Result<Output, Failure> {
    command.output().map_err(|error| {
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
    let said = String::from_utf8_lossy(&output.stderr);
    let lines = said.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with("hint:"));
    let lines: Vec<&str> = lines.map(|line| line.strip_prefix("fatal: ").unwrap_or(line)).collect();
    let said = if lines.is_empty() { "git says nothing of why".to_owned() } else { lines.join("; ") };
    Failure::damaged(format!("{} cannot be shared with: {said}", place.shown))
        .hint("check the address, the connection and that git has your credentials; nothing was lost here")
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
