//! A garage on the disk, and the real git.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use asfound_journal::garage::Garage;
use tempfile::TempDir;

use crate::sheets::{audit_of, lines};
use crate::story::{tag, tell};

/// A garage in a temporary directory, which goes with it.
pub(crate) struct Place {
    folder: TempDir,
    pub(crate) garage: Garage,
}

impl Place {
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let garage = Garage::create(&folder.path().join("garage")).unwrap();
        Self { folder, garage }
    }

    pub(crate) fn told() -> Self {
        let place = Self::new();
        tell(place.garage.store(), &tag("wren"));
        place
    }

    /// Without a handle on the store that is open.
    pub(crate) fn closed(self) -> TempDir {
        self.folder
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join("garage")
    }

    pub(crate) fn repository(&self) -> PathBuf {
        self.path().join("journals.git")
    }

    /// The id of an object by a name that git knows.
    pub(crate) fn id(&self, name: &str) -> String {
        git(&self.repository(), &["rev-parse", name]).trim().to_owned()
    }

    pub(crate) fn object_file(&self, id: &str) -> PathBuf {
        self.repository().join("objects").join(&id[..2]).join(&id[2..])
    }

    /// What an audit says, with `ID` for the id of the object and `GARAGE` for the folder.
    pub(crate) fn said(&self, id: &str) -> Vec<String> {
        let garage = Garage::open(&self.path()).unwrap();
        let plain = |line: String| {
            let file = self.object_file(id).display().to_string();
            line.replace(&file, "FILE").replace(id, "ID").replace(&self.path().display().to_string(), "GARAGE")
        };
        lines(&audit_of(garage.store(), "wren")).into_iter().map(plain).collect()
    }
}

pub(crate) fn git(repository: &Path, arguments: &[&str]) -> String {
    let mut command = Command::new("git");
    command.env("GIT_CONFIG_NOSYSTEM", "1").env("HOME", "/nonexistent").env("LC_ALL", "C");
    let output = command.arg("--git-dir").arg(repository).args(arguments).output().unwrap();
    assert!(output.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Writes over a file, which objects do not let anybody do.
pub(crate) fn overwrite(file: &Path, bytes: &[u8]) {
    fs::remove_file(file).unwrap();
    fs::write(file, bytes).unwrap();
}
