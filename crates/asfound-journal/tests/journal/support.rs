//! What the tests share: throw-away garages, commits to append, and the real git.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::Duration;

use asfound_core::names::Tag;
use asfound_journal::FilePath;
use asfound_journal::garage::Garage;
use asfound_journal::store::{
    Author, Commit, CommitId, FileContent, Files, GitStore, LockTimeouts, NewCommit, Store, StoreError,
};
use tempfile::TempDir;
use time::macros::datetime;

/// Short waits, so that tests of waiting end soon.
pub(crate) const PATIENCE: LockTimeouts =
    LockTimeouts { limit: Duration::from_secs(20), stale: Duration::from_millis(100) };

/// A garage in a temporary directory, which goes with it.
pub(crate) struct Place {
    folder: TempDir,
    pub(crate) garage: Garage,
}

impl Place {
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let garage = Garage::create_with(&folder.path().join("garage"), PATIENCE).unwrap();
        Self { folder, garage }
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join("garage")
    }

    pub(crate) fn repository(&self) -> PathBuf {
        self.path().join("journals.git")
    }

    /// Another handle on the same store, as another process would open it.
    pub(crate) fn reopened(&self) -> GitStore {
        open_store(&self.path())
    }

    /// The file of a loose object.
    pub(crate) fn object_file(&self, id: &str) -> PathBuf {
        self.repository().join("objects").join(&id[..2]).join(&id[2..])
    }

    pub(crate) fn git(&self, arguments: &[&str]) -> Output {
        git(&self.repository(), arguments)
    }

    /// What git prints, which must succeed.
    pub(crate) fn git_text(&self, arguments: &[&str]) -> String {
        let output = self.git(arguments);
        assert!(output.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    /// Fails unless git finds every object, link and name in order.
    pub(crate) fn assert_sound(&self) {
        let output = self.git(&["fsck", "--strict", "--full", "--no-dangling"]);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{said}");
        assert!(!said.contains("error") && !said.contains("warning") && !said.contains("bad"), "{said}");
        assert_eq!(String::from_utf8_lossy(&output.stdout), "");
    }
}

pub(crate) fn open_store(garage: &Path) -> GitStore {
    GitStore::open(&garage.join("journals.git"), &garage.join("locks"), PATIENCE).unwrap()
}

/// The real git, without anybody's settings.
pub(crate) fn git(repository: &Path, arguments: &[&str]) -> Output {
    git_command(repository).args(arguments).output().expect("git is needed by the project")
}

pub(crate) fn git_command(repository: &Path) -> Command {
    let mut command = Command::new("git");
    command
        .env_clear()
        .envs(std::env::vars_os().filter(|(name, _)| name == "PATH"))
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("HOME", "/nonexistent")
        .env("LC_ALL", "C")
        .env("GIT_PAGER", "cat")
        .arg("--git-dir")
        .arg(repository);
    command
}

pub(crate) fn tag(text: &str) -> Tag {
    text.parse().unwrap()
}

pub(crate) fn path(text: &str) -> FilePath {
    text.parse().unwrap()
}

pub(crate) fn author() -> Author {
    Author::new("Edda Brandt", "edda@workshop.example").unwrap()
}

/// A commit with these files, all of them new.
pub(crate) fn new_commit(message: &str, files: &[(&str, &str)]) -> NewCommit {
    let files = files.iter().map(|(name, text)| (path(name), FileContent::New(text.as_bytes().to_vec()))).collect();
    NewCommit { author: author(), when: datetime!(2026-03-14 09:20:05 +01:00), message: message.to_owned(), files }
}

/// Every file of a commit, kept.
pub(crate) fn kept(commit: &Commit) -> Files {
    commit.files.iter().map(|(name, blob)| (path(name), FileContent::Kept(blob.clone()))).collect()
}

/// Appends until it is in: each time on top of what the journal ends with by then.
pub(crate) fn append_until_filed(store: &dyn Store, tag: &Tag, text: &str) -> CommitId {
    loop {
        let tip = store.tip(tag).unwrap();
        let mut new = new_commit(text, &[("entry.toml", text)]);
        if let Some(tip) = &tip {
            let mut files = kept(&store.commit(tip).unwrap());
            files.extend(new.files);
            new.files = files;
        }
        match store.append(tag, tip.as_ref(), &new) {
            Ok(id) => return id,
            Err(StoreError::Moved { .. }) => {}
            Err(error) => panic!("{error}: {:?}", error.hint()),
        }
    }
}

/// The messages of a journal, oldest first.
pub(crate) fn messages(store: &dyn Store, tag: &Tag) -> Vec<String> {
    store.line(tag).unwrap().iter().map(|id| store.commit(id).unwrap().message).collect()
}
