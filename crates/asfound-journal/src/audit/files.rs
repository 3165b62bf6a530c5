//! Holds the tree of an entry against its manifest.

use std::collections::BTreeMap;

use asfound_core::names::EntryNumber;

use super::FindingKind;
use crate::manifest::{MANIFEST_PATH, Manifest};
use crate::record::BLIND_PATH;
use crate::store::{BlobId, Commit, Store, StoreError};
use crate::{Digest, FilePath};

/// Where an entry's own words are.
pub(super) const ENTRY_PATH: &str = "entry.toml";
/// Where the vehicle is.
pub(super) const VEHICLE_PATH: &str = "vehicle.toml";
/// Where the trouble codes are.
pub(super) const CODES_PATH: &str = "trouble-codes.toml";
/// Files that are read with every entry, whether they changed or not.
const ALWAYS_READ: [&str; 3] = [MANIFEST_PATH, BLIND_PATH, ENTRY_PATH];

/// A file that was read and hashed.
#[derive(Debug, Clone)]
struct Read {
    blob: BlobId,
    digest: Digest,
}

/// The files of the entry at hand, of which those that the entry before had too are not read again.
#[derive(Debug, Default)]
pub(super) struct Files {
    /// Every file that could be read, by path.
    read: BTreeMap<String, Read>,
    /// The contents of those that the entry before did not have.
    fresh: BTreeMap<String, Vec<u8>>,
    /// The paths that the entry before had and this one has not.
    gone: Vec<String>,
}

impl Files {
    /// Moves on to the files of `commit`, and says which cannot be read.
    pub(super) fn turn<S: Store + ?Sized>(&mut self, store: &S, commit: &Commit) -> Vec<FindingKind> {
        let mut before = std::mem::take(&mut self.read);
        self.fresh.clear();
        let mut findings = Vec::new();
        for (path, blob) in &commit.files {
            if let Some(read) = before.remove(path)
                && read.blob == *blob
                && !ALWAYS_READ.contains(&path.as_str())
            {
                self.read.insert(path.clone(), read);
                continue;
            }
            match store.read(blob) {
                Ok(bytes) => {
                    self.read.insert(path.clone(), Read { blob: blob.clone(), digest: Digest::of(&bytes) });
                    self.fresh.insert(path.clone(), bytes);
                }
                Err(error) => findings.push(unread(error, Some(path))),
            }
        }
        self.gone = before.into_keys().collect();
        findings
    }

    /// The content of a file that the entry before did not have, or that is read with every entry.
    pub(super) fn fresh(&self, path: &str) -> Option<&[u8]> {
        self.fresh.get(path).map(Vec::as_slice)
    }

    /// The digest of a file.
    pub(super) fn digest(&self, path: &str) -> Option<&Digest> {
        self.read.get(path).map(|read| &read.digest)
    }

    /// Files that the entry before did not have, with their contents.
    pub(super) fn all_fresh(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.fresh.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice()))
    }

    /// The paths that the entry before had and this one has not.
    pub(super) fn gone(&self) -> &[String] {
        &self.gone
    }

    /// Holds the files of `commit` against the manifest. Hands back the manifest, where it can be read.
    pub(super) fn check(&self, commit: &Commit, findings: &mut Vec<FindingKind>) -> Option<Manifest> {
        if !commit.files.contains_key(MANIFEST_PATH) {
            findings.push(FindingKind::NoFile(MANIFEST_PATH));
            return None;
        }
        let bytes = self.fresh(MANIFEST_PATH)?;
        let manifest: Manifest = match String::from_utf8_lossy(bytes).parse() {
            Ok(manifest) => manifest,
            Err(error) => {
                findings.push(FindingKind::Manifest(error));
                return None;
            }
        };
        for (path, stated) in manifest.iter() {
            let path = path.as_str();
            match self.digest(path) {
                Some(digest) if digest == stated => {}
                Some(digest) => findings.push(FindingKind::Content { path: path.to_owned(), found: *digest }),
                // Those that are there and cannot be read are named already.
                None if commit.files.contains_key(path) => {}
                None => findings.push(FindingKind::Lacking(path.to_owned())),
            }
        }
        for path in commit.files.keys().filter(|path| *path != MANIFEST_PATH) {
            match path.parse::<FilePath>() {
                Err(error) => findings.push(FindingKind::Path(error)),
                Ok(_) if manifest.get(path).is_none() => findings.push(FindingKind::NotListed(path.clone())),
                Ok(_) => {}
            }
        }
        Some(manifest)
    }
}

/// What is wrong with the names of an entry's files, its manifest aside.
pub(super) fn check_names(commit: &Commit, number: EntryNumber) -> Vec<FindingKind> {
    let mut findings = Vec::new();
    let needed = [BLIND_PATH, ENTRY_PATH, VEHICLE_PATH];
    findings.extend(needed.into_iter().filter(|path| !commit.files.contains_key(*path)).map(FindingKind::NoFile));
    let own_evidence = format!("evidence/{number}/");
    for path in commit.files.keys() {
        let (folder, name) = path.split_once('/').unwrap_or(("", path));
        match folder {
            "" if needed.contains(&name) || [MANIFEST_PATH, CODES_PATH].contains(&name) => {}
            // What these hold is held against the entries, or parsed.
            "modules" | "definitions" if name.strip_suffix(".toml").is_some_and(|stem| !stem.contains('/')) => {}
            "evidence" if path.starts_with(&own_evidence) => {}
            "evidence" => findings.push(FindingKind::ForeignEvidence(path.clone())),
            _ => findings.push(FindingKind::UnknownFile(path.clone())),
        }
    }
    findings
}

/// Why something could not be read, as a finding.
pub(super) fn unread(error: StoreError, path: Option<&str>) -> FindingKind {
    let path = path.map(str::to_owned);
    match error {
        StoreError::Missing { object } => FindingKind::Missing { object, path },
        StoreError::Damaged { object, detail } => FindingKind::Damaged { object, path, detail },
        other => FindingKind::OutOfReach { detail: other.to_string() },
    }
}
