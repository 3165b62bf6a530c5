//! The garage as ordinary git sees it.

use std::path::Path;
use std::process::{Command, Output};

/// Runs git on a repository, without anybody's configuration.
pub fn git(repository: &Path, arguments: &[&str]) -> Output {
    Command::new("git")
        .arg("--git-dir")
        .arg(repository)
        .args(arguments)
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .env("LC_ALL", "C")
        .output()
        .expect("git is installed")
}

/// What git writes to standard output; it must succeed.
#[track_caller]
pub fn text(repository: &Path, arguments: &[&str]) -> String {
    let output = git(repository, arguments);
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "git {}: {err}", arguments.join(" "));
    String::from_utf8(output.stdout).expect("git writes UTF-8 here")
}

/// The last commit of a branch, where there is one.
pub fn tip(repository: &Path, branch: &str) -> Option<String> {
    let output = git(repository, &["rev-parse", "--verify", "--quiet", &format!("refs/heads/{branch}")]);
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

/// All branches with their last commits, as git lists them; nothing where there is no repository.
pub fn tips(repository: &Path) -> String {
    if repository.exists() { text(repository, &["for-each-ref"]) } else { String::new() }
}

/// A text file of the last commit of a branch.
pub fn file(repository: &Path, branch: &str, path: &str) -> String {
    text(repository, &["show", &format!("{branch}:{path}")])
}

/// The commits of a branch, oldest first.
pub fn line(repository: &Path, branch: &str) -> Vec<String> {
    let list = text(repository, &["rev-list", "--reverse", "--first-parent", branch]);
    list.lines().map(str::to_owned).collect()
}
