//! A garage whose entries are signed, and the programs that check it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Author, Body, Reason, Vehicle};
use asfound_core::names::Tag;
use asfound_journal::garage::{ALLOWED_SIGNERS, Garage};
use asfound_journal::journal::{AppendedEntry, EntryDraft, EntryRandomness, FileError, Journal, JournalError, Signing};
use asfound_journal::sign::{
    AllowedSigner, AllowedSigners, FileKey, KeyFile, Passphrase, SignatureState, Signer, verify,
};
use asfound_journal::store::{CommitId, Store};
use ssh_key::private::{Ed25519Keypair, PrivateKey};
use tempfile::TempDir;
use time::OffsetDateTime;
use time::macros::datetime;

pub(crate) const NOON: OffsetDateTime = datetime!(2026-03-14 12:00:00 +01:00);
pub(crate) const EDDA: &str = "edda@workshop.example";

pub(crate) fn tag() -> Tag {
    "wren".parse().unwrap()
}

/// Whether a program is there; says so where it is not.
pub(crate) fn has(program: &str) -> bool {
    // None of them has such an option: it says so, and ends.
    let found = command(program).arg("-?").output().is_ok();
    if !found {
        #[allow(clippy::print_stderr, reason = "whoever runs the tests has to know that this one checked nothing")]
        {
            eprintln!("NOT CHECKED: this test needs {program}, which is not there");
        }
    }
    found
}

/// A command without anybody's settings, in a time zone far from UTC so that none is mistaken for it.
pub(crate) fn command(program: &str) -> Command {
    let mut command = Command::new(program);
    command
        .env_clear()
        .envs(std::env::vars_os().filter(|(name, _)| name == "PATH"))
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("HOME", "/nonexistent")
        .env("LC_ALL", "C")
        .env("TZ", "XXX-11:30")
        .stdin(Stdio::null());
    command
}

/// Both streams of a program that must succeed.
pub(crate) fn text(command: &mut Command) -> String {
    let output = command.output().unwrap();
    let text = said(&output);
    assert!(output.status.success(), "{command:?}: {text}");
    text
}

pub(crate) fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// A key from a number, made without `ssh-keygen`.
pub(crate) fn seeded(number: u8) -> PrivateKey {
    PrivateKey::from(Ed25519Keypair::from_seed(&[number; 32]))
}

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

    pub(crate) fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Makes a key with `ssh-keygen` and says where it lies.
    pub(crate) fn keygen(&self, name: &str, kind: &[&str], passphrase: &str) -> PathBuf {
        let path = self.at(name);
        let arguments = ["-q", "-C", "edda in the workshop", "-N", passphrase, "-f"];
        text(command("ssh-keygen").args(arguments).arg(&path).args(kind));
        path
    }

    /// Writes a key of [`seeded`] to a file.
    pub(crate) fn seeded(&self, number: u8) -> PathBuf {
        let path = self.at(&format!("seeded-{number}"));
        std::fs::write(&path, seeded(number).to_openssh(ssh_key::LineEnding::LF).unwrap()).unwrap();
        path
    }

    /// Files an entry: the enrolment, then notes.
    pub(crate) fn file(&self, at: OffsetDateTime, signing: Option<Signing<'_>>) -> Result<AppendedEntry, JournalError> {
        file_in(self.garage.store(), at, signing)
    }

    pub(crate) fn sign(&self, at: OffsetDateTime, signer: &dyn Signer) -> CommitId {
        self.file(at, Some(Signing { signer, meaning: None })).unwrap().commit
    }

    pub(crate) fn trust(&self, signer: &dyn Signer) {
        self.garage.trust(&AllowedSigner::new(&EDDA.parse().unwrap(), signer.public_key().clone())).unwrap();
    }

    pub(crate) fn git(&self, arguments: &[&str]) -> Command {
        let mut git = command("git");
        git.arg("--git-dir").arg(self.at("garage/journals.git")).args(arguments);
        git
    }

    /// Fails unless git finds every object in order.
    pub(crate) fn assert_sound(&self) {
        let said = text(&mut self.git(&["fsck", "--strict", "--no-dangling", "--no-progress"]));
        let notices = said.lines().filter(|line| !line.starts_with("notice: "));
        assert_eq!(notices.count(), 0, "{said}");
    }

    /// What git itself makes of a signature.
    pub(crate) fn git_verifies(&self, commit: &str) -> Result<String, String> {
        let list = format!("gpg.ssh.allowedSignersFile={}", self.at("garage").join(ALLOWED_SIGNERS).display());
        let output = self.git(&["-c", "gpg.format=ssh", "-c", &list, "verify-commit", commit]).output().unwrap();
        if output.status.success() { Ok(said(&output)) } else { Err(said(&output)) }
    }

    /// What this crate makes of it.
    pub(crate) fn state(&self, commit: &CommitId) -> SignatureState {
        let text = self.garage.store().commit_text(commit).unwrap();
        verify(&text, &self.garage.allowed_signers().unwrap())
    }

    /// Writes another text as a commit object, past the journal.
    pub(crate) fn write_commit(&self, commit: &[u8]) -> CommitId {
        let path = self.at("object");
        std::fs::write(&path, commit).unwrap();
        let written = text(self.git(&["hash-object", "-t", "commit", "--literally", "-w"]).arg(&path));
        written.trim().parse().unwrap()
    }
}

pub(crate) fn file_in(
    store: &impl Store,
    at: OffsetDateTime,
    signing: Option<Signing<'_>>,
) -> Result<AppendedEntry, JournalError> {
    let journal = Journal::new(store, tag()).signing(signing);
    let first = !journal.exists().unwrap();
    let vehicle = Vehicle { tag: tag(), vin: None, about: None, enrolled: at };
    let draft = EntryDraft {
        recorded: at,
        happened: at,
        precision: asfound_core::moment::Precision::Second,
        author: Author::new("Edda Brandt", Some(EDDA)).unwrap(),
        why: Reason::try_from("horn sounds hoarse".to_owned()).unwrap(),
        body: if first { Body::Enrolled(vehicle) } else { Body::Note(None) },
        evidence: Vec::new(),
        chance: EntryRandomness { entry: [1; 16], vehicle: [2; 16], blind: [3; 32] },
    };
    let filed = journal.file(&DefinitionSet::default(), |_| Ok::<_, std::convert::Infallible>(draft.clone()));
    filed.map_err(|error| match error {
        FileError::Journal(error) => error,
        FileError::Refused(never) => match never {},
    })
}

pub(crate) fn open(path: &Path, passphrase: Option<&str>) -> FileKey {
    let passphrase = passphrase.map(|text| Passphrase::from(text.to_owned()));
    KeyFile::open(path).unwrap().unlock(passphrase.as_ref()).unwrap()
}

/// The signature and the text under it, taken apart without the crate's help.
pub(crate) fn apart(commit: &[u8]) -> (String, String) {
    let commit = std::str::from_utf8(commit).unwrap();
    let (before, rest) = commit.split_once("gpgsig ").unwrap();
    let end = "-----END SSH SIGNATURE-----\n";
    let (signature, after) = rest.split_once(end).unwrap();
    (format!("{}{end}", signature.replace("\n ", "\n")), format!("{before}{after}"))
}

pub(crate) fn list(lines: &[String]) -> AllowedSigners {
    AllowedSigners::parse(&lines.join("\n"))
}
