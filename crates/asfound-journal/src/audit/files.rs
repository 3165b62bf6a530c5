//! The files of the entry at hand, held against its manifest.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::names::EntryNumber;

use super::FindingKind;
use super::reader::{ENTRY_PATH, PathChange, ReadFile};
use crate::entry_files::{BLIND_PATH, Blind};
use crate::manifest::{MANIFEST_PATH, Manifest};
use crate::store::{BlobId, StoreError};
use crate::{Digest, FilePath};

/// Where the vehicle is.
pub(super) const VEHICLE_PATH: &str = "vehicle.toml";
/// Where the trouble codes are.
pub(super) const CODES_PATH: &str = "trouble-codes.toml";
/// Files that are looked into with every entry, whether they changed or not.
const ALWAYS: [&str; 3] = [MANIFEST_PATH, BLIND_PATH, ENTRY_PATH];

/// A file of the entry at hand, hashed once when it appeared.
#[derive(Debug)]
struct HashedFile {
    blob: BlobId,
    /// Whether it could be read.
    is_read: bool,
    /// Nothing where it could not be read, and for the manifest.
    digest: Option<Digest>,
    /// Its path and its line in the manifest, where it could be read and can be listed.
    line: Option<(FilePath, String)>,
}

impl HashedFile {
    fn new(path: &str, blob: BlobId, is_read: bool, digest: Option<Digest>) -> Self {
        let line = digest.and_then(|digest| Some((path.parse().ok()?, format!("{digest}  {path}\n"))));
        Self { blob, is_read, digest, line }
    }
}

/// The files of the entry at hand.
#[derive(Debug, Default)]
pub(super) struct CurrentFiles {
    held: BTreeMap<String, HashedFile>,
    /// The contents of those that the entry before had not.
    fresh: BTreeMap<String, Vec<u8>>,
    /// The paths that the entry before had and this one has not.
    gone: BTreeSet<String>,
    /// The contents of those that are looked into with every entry and are those of the entry before.
    carried: BTreeMap<String, Vec<u8>>,
}

impl CurrentFiles {
    /// Moves on to the files of the next entry, and says which cannot be read.
    pub(super) fn turn(&mut self, whole: bool, changes: BTreeMap<String, PathChange>) -> Vec<FindingKind> {
        let mut findings = Vec::new();
        self.carried.append(&mut self.fresh);
        self.carried.retain(|path, _| ALWAYS.contains(&path.as_str()));
        self.gone.clear();
        if whole {
            self.gone.extend(self.held.keys().filter(|path| !changes.contains_key(*path)).cloned());
        }
        for (path, change) in changes {
            match change {
                PathChange::Gone => drop(self.gone.insert(path)),
                // All files were listed, this one among them.
                PathChange::Fresh(ReadFile { blob, .. }) if self.is_held(&path, &blob, true) => {}
                PathChange::Unread(blob, _) if self.is_held(&path, &blob, false) => {}
                PathChange::Fresh(ReadFile { blob, bytes, digest }) => {
                    self.held.insert(path.clone(), HashedFile::new(&path, blob, true, digest));
                    self.fresh.insert(path, bytes);
                }
                PathChange::Unread(blob, error) => {
                    findings.push(unread(error, Some(&path)));
                    self.held.insert(path.clone(), HashedFile::new(&path, blob, false, None));
                }
            }
        }
        for path in &self.gone {
            self.held.remove(path);
        }
        findings
    }

    fn is_held(&self, path: &str, blob: &BlobId, read: bool) -> bool {
        self.held.get(path).is_some_and(|held| held.blob == *blob && held.is_read == read)
    }

    /// Whether there is such a file.
    pub(super) fn has(&self, path: &str) -> bool {
        self.held.contains_key(path)
    }

    /// The content of a file that the entry before had not, or that is looked into with every entry.
    pub(super) fn content(&self, path: &str) -> Option<&[u8]> {
        let kept = || self.carried.get(path).filter(|_| self.held.get(path).is_some_and(|held| held.is_read));
        self.fresh.get(path).or_else(kept).map(Vec::as_slice)
    }

    /// The digest of a file, where it could be read.
    pub(super) fn digest(&self, path: &str) -> Option<&Digest> {
        self.held.get(path)?.digest.as_ref()
    }

    /// Files that the entry before had not, with their contents.
    pub(super) fn fresh(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.fresh.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice()))
    }

    /// The paths that the entry before had and this one has not.
    pub(super) fn gone(&self) -> impl Iterator<Item = &str> {
        self.gone.iter().map(String::as_str)
    }

    fn listed(&self) -> impl Iterator<Item = (&String, &HashedFile)> {
        self.held.iter().filter(|(path, _)| *path != MANIFEST_PATH)
    }

    /// Holds the files against the manifest, and hands back the data of the entry's leaf, where manifest and blind tell it.
    pub(super) fn check(&self, findings: &mut Vec<FindingKind>) -> Option<Vec<u8>> {
        let blind = self.blind(findings);
        if !self.has(MANIFEST_PATH) {
            findings.push(FindingKind::NoFile(MANIFEST_PATH));
            return None;
        }
        let bytes = self.content(MANIFEST_PATH)?;
        if self.is_manifest(bytes) {
            // The lines are at hand: no need to take the text apart.
            return blind.map(|blind| self.leaf_data(&blind));
        }
        let manifest = match String::from_utf8_lossy(bytes).parse::<Manifest>() {
            Ok(manifest) => manifest,
            Err(error) => {
                findings.push(FindingKind::Manifest(error));
                return None;
            }
        };
        self.compare(&manifest, findings);
        blind.map(|blind| blind.leaf_data(&manifest))
    }

    /// The data of the leaf, where the manifest is that of these files.
    fn leaf_data(&self, blind: &Blind) -> Vec<u8> {
        let mut data = Vec::with_capacity(self.held.len() * 32);
        for (path, line) in self.listed().filter_map(|(_, held)| held.line.as_ref()) {
            let hash = Digest::of_parts(&[blind.of_path(path).as_bytes(), line.as_bytes()]);
            data.extend_from_slice(hash.as_bytes());
        }
        data
    }

    /// Whether a text is exactly the manifest of these files.
    fn is_manifest(&self, bytes: &[u8]) -> bool {
        let rest = self.listed().try_fold(bytes, |rest, (_, held)| {
            let (_, line) = held.line.as_ref()?;
            rest.strip_prefix(line.as_bytes())
        });
        rest.is_some_and(<[u8]>::is_empty)
    }

    /// Names every difference between the files and a manifest.
    fn compare(&self, manifest: &Manifest, findings: &mut Vec<FindingKind>) {
        for (path, stated) in manifest.iter() {
            let path = path.as_str();
            match self.digest(path) {
                Some(digest) if digest == stated => {}
                Some(digest) => findings.push(FindingKind::Content { path: path.to_owned(), found: *digest }),
                // One that is there and cannot be read is named already.
                None if self.has(path) => {}
                None => findings.push(FindingKind::Lacking(path.to_owned())),
            }
        }
        for (path, _) in self.listed() {
            match path.parse::<FilePath>() {
                Err(error) => findings.push(FindingKind::Path(error)),
                Ok(_) if manifest.get(path).is_none() => findings.push(FindingKind::NotListed(path.clone())),
                Ok(_) => {}
            }
        }
    }

    fn blind(&self, findings: &mut Vec<FindingKind>) -> Option<Blind> {
        let parsed = String::from_utf8_lossy(self.content(BLIND_PATH)?).parse();
        if parsed.is_err() {
            findings.push(FindingKind::Blind);
        }
        parsed.ok()
    }

    /// Paths that differ in nothing but the case of letters from others, where they appear. Attached files may: their names
    /// are those that somebody gave them.
    fn case_only(&self) -> impl Iterator<Item = FindingKind> {
        // Hardly any path has a capital letter, so that those with one are held against all.
        let odd = self.held.keys().filter(|path| path.bytes().any(|byte| byte.is_ascii_uppercase()));
        let pairs = odd.flat_map(|odd| self.held.keys().map(move |other| (odd, other)));
        let pairs = pairs.filter(|(odd, other)| differ_in_case(odd, other));
        pairs.filter_map(|(odd, other)| {
            let (path, other) = match (self.fresh.contains_key(odd), self.fresh.contains_key(other)) {
                (true, _) => (odd, other),
                (false, true) => (other, odd),
                (false, false) => return None,
            };
            Some(FindingKind::CaseOnly { path: path.clone(), other: other.clone() })
        })
    }

    /// What is wrong with the names of the files. One that is unknown is named where it appears.
    pub(super) fn check_names(&self, number: EntryNumber) -> Vec<FindingKind> {
        let needed = [BLIND_PATH, ENTRY_PATH, VEHICLE_PATH];
        let lacking = needed.into_iter().filter(|path| !self.has(path));
        let mut findings: Vec<FindingKind> = lacking.map(FindingKind::NoFile).collect();
        let (evidence, own) = ("evidence/".to_owned(), format!("evidence/{number}/"));
        let attached = self.held.range(evidence.clone()..).map(|(path, _)| path);
        let attached = attached.take_while(|path| path.starts_with(&evidence));
        findings.extend(attached.filter(|path| !path.starts_with(&own)).cloned().map(FindingKind::ForeignEvidence));
        findings.extend(self.case_only());
        for path in self.fresh.keys() {
            let (folder, name) = path.split_once('/').unwrap_or(("", path));
            let known = match folder {
                "" => needed.contains(&name) || [MANIFEST_PATH, CODES_PATH].contains(&name),
                // What these hold is held against the entries, or parsed.
                "modules" | "definitions" => name.strip_suffix(".toml").is_some_and(|stem| !stem.contains('/')),
                "evidence" => true,
                _ => false,
            };
            if !known {
                findings.push(FindingKind::UnknownFile(path.clone()));
            }
        }
        findings
    }
}

/// Whether two paths part where their names differ in nothing but the case of letters, and not among attached files.
fn differ_in_case(one: &str, other: &str) -> bool {
    let mut parts = one.split('/').zip(other.split('/')).enumerate();
    let parted = parts.find(|(_, (one, other))| one != other);
    parted.is_some_and(|(depth, (a, b))| a.eq_ignore_ascii_case(b) && (depth == 0 || !one.starts_with("evidence/")))
}

/// Why something could not be read, as a finding.
pub(super) fn unread(error: StoreError, path: Option<&str>) -> FindingKind {
    let path = path.map(str::to_owned);
    match error {
        StoreError::Missing { object } => FindingKind::Missing { object, path },
        StoreError::Damaged { object, detail } => FindingKind::Damaged { object, path, detail },
        StoreError::OddTree { object, detail } => FindingKind::Tree { object, detail },
        other => FindingKind::OutOfReach { detail: other.to_string() },
    }
}
