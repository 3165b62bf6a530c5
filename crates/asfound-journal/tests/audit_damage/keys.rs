//! A garage whose entries are signed, to be altered behind the program's back.

use std::io::Write;
use std::num::NonZero;
use std::process::{Command, Stdio};

use asfound_journal::audit::{AuditOptions, Signatures, audit};
use asfound_journal::garage::Garage;
use asfound_journal::sign::{AllowedSigner, FileKey, KeyFile, Signer};
use ssh_key::private::{Ed25519Keypair, PrivateKey};

use crate::place::{Place, git};
use crate::sheets::lines;
use crate::story::{tag, tell_signed};

const EDDA: &str = "edda@workshop.example";
pub(crate) const STRANGER: u8 = 9;

/// A key from a number.
pub(crate) fn key(place: &Place, number: u8) -> FileKey {
    let path = place.path().join(format!("key-{number}"));
    let key = PrivateKey::from(Ed25519Keypair::from_seed(&[number; 32]));
    std::fs::write(&path, key.to_openssh(ssh_key::LineEnding::LF).unwrap()).unwrap();
    KeyFile::open(&path).unwrap().unlock(None).unwrap()
}

/// A garage that trusts Edda's key, in which entry `n` is signed with the key `signed_by(n)`, 0 for none.
pub(crate) fn signed_place(signed_by: impl Fn(usize) -> u8) -> Place {
    let place = Place::new();
    let keys: Vec<FileKey> = (0..=STRANGER).map(|number| key(&place, number)).collect();
    trust(&place, EDDA, &keys[1]);
    tell_signed(place.garage.store(), &tag("wren"), |entry| match signed_by(entry) {
        0 => None,
        number => Some(&keys[usize::from(number)] as &dyn Signer),
    });
    place
}

pub(crate) fn trust(place: &Place, principal: &str, key: &FileKey) {
    place.garage.trust(&AllowedSigner::new(&principal.parse().unwrap(), key.public_key().clone())).unwrap();
}

/// The findings, with `EDDA` and `STRANGER` for the keys, and the numbers of good, unknown, bad and missing signatures.
pub(crate) fn said(place: &Place) -> (Vec<String>, [u32; 4]) {
    let garage = Garage::open(&place.path()).unwrap();
    let means = AuditOptions { allowed: &garage.allowed_signers().unwrap(), threads: NonZero::<usize>::MIN };
    let outcome = audit(garage.store(), &tag("wren"), means, &mut |_| {}).unwrap();
    let names = [(1, "EDDA"), (STRANGER, "STRANGER")].map(|(number, name)| (key(place, number), name));
    let plain = |line: String| {
        names.iter().fold(line, |line, (key, name)| line.replace(key.public_key().fingerprint().as_str(), name))
    };
    let Signatures { good, unknown, bad, missing } = outcome.signatures;
    (lines(&outcome).into_iter().map(plain).collect(), [good, unknown, bad, missing])
}

/// Makes every commit anew on the one before, its text as `alter` gives it for the number of the entry.
pub(crate) fn made_anew(place: &Place, alter: impl Fn(usize, String) -> String) {
    let repository = place.repository();
    let ids = git(&repository, &["rev-list", "--reverse", "wren"]);
    let mut parents: Vec<(String, String)> = Vec::new();
    for (at, id) in ids.lines().enumerate() {
        let text = git(&repository, &["cat-file", "commit", id]);
        let text = parents.iter().fold(text, |text, (old, new)| text.replace(old, new));
        let mut child = Command::new("git");
        child.arg("--git-dir").arg(&repository).args(["hash-object", "-t", "commit", "-w", "--stdin"]);
        let mut child = child.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
        child.stdin.take().unwrap().write_all(alter(at + 1, text).as_bytes()).unwrap();
        let new = String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap();
        parents.push((id.to_owned(), new.trim().to_owned()));
    }
    git(&repository, &["update-ref", "refs/heads/wren", &parents.last().unwrap().1]);
}

/// The text without its signature.
pub(crate) fn unsigned(text: &str) -> String {
    let (before, rest) = text.split_once("gpgsig ").unwrap();
    let (_, after) = rest.split_once("-----END SSH SIGNATURE-----\n").unwrap();
    format!("{before}{after}")
}

/// The signature as it stands in a commit.
pub(crate) fn signature(text: &str) -> String {
    text.strip_prefix(unsigned(text).split_once("\n\n").unwrap().0).unwrap().split_once("\n\n").unwrap().0.to_owned()
}
