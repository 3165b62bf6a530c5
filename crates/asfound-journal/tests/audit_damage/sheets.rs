//! Entries as plain files, to be altered and filed again behind the program's back.

use std::collections::BTreeMap;
use std::num::NonZero;
use std::sync::LazyLock;

use asfound_core::entry::Entry;
use asfound_core::names::{EntryNumber, Tag};
use asfound_journal::FilePath;
use asfound_journal::audit::{Audit, AuditOptions, audit};
use asfound_journal::entry_files::{BLIND_PATH, Blind, Chain, EntryFile, Salt, VehicleFile};
use asfound_journal::manifest::{MANIFEST_PATH, Manifest};
use asfound_journal::merkle::root_of;
use asfound_journal::sign::AllowedSigners;
use asfound_journal::store::{Author, FileContent, MemoryStore, NewCommit, Store};
use time::OffsetDateTime;

use crate::story::{tag, tell};

/// One entry, as its commit holds it.
#[derive(Debug, Clone)]
pub(crate) struct Sheet {
    pub(crate) author: Author,
    pub(crate) when: OffsetDateTime,
    pub(crate) message: String,
    pub(crate) files: BTreeMap<String, Vec<u8>>,
}

/// The entries of a vehicle.
pub(crate) fn sheets(store: &impl Store, vehicle: &Tag) -> Vec<Sheet> {
    let sheet = |id: &_| {
        let commit = store.commit(id).unwrap();
        let files = commit.files.iter().map(|(path, blob)| (path.clone(), store.read(blob).unwrap())).collect();
        Sheet { author: commit.author, when: commit.committed, message: commit.message, files }
    };
    store.line(vehicle).unwrap().iter().map(sheet).collect()
}

/// The story's entries.
pub(crate) fn told() -> Vec<Sheet> {
    let store = MemoryStore::new();
    tell(&store, &tag("wren"));
    sheets(&store, &tag("wren"))
}

/// Files the entries as they are.
pub(crate) fn put(store: &impl Store, vehicle: &Tag, sheets: &[Sheet]) {
    for sheet in sheets {
        let files = sheet.files.iter().map(|(path, bytes)| (path.parse().unwrap(), FileContent::New(bytes.clone())));
        let new = NewCommit {
            author: sheet.author.clone(),
            when: sheet.when,
            message: sheet.message.clone(),
            files: files.collect(),
        };
        store.append(vehicle, store.tip(vehicle).unwrap().as_ref(), &new).unwrap();
    }
}

/// What an audit of these entries comes to.
pub(crate) fn audited(sheets: &[Sheet]) -> Audit {
    let store = MemoryStore::new();
    put(&store, &tag("wren"), sheets);
    audit_of(&store, "wren")
}

/// So many threads, and no keys that are trusted.
pub(crate) fn alone(threads: NonZero<usize>) -> AuditOptions<'static> {
    static NONE: LazyLock<AllowedSigners> = LazyLock::new(AllowedSigners::default);
    AuditOptions { allowed: &NONE, threads }
}

pub(crate) fn audit_of(store: &impl Store, vehicle: &str) -> Audit {
    audit(store, &tag(vehicle), alone(NonZero::<usize>::MIN), &mut |_| {}).unwrap()
}

/// The findings, a line each, and at the end what is sound.
pub(crate) fn lines(audit: &Audit) -> Vec<String> {
    let mut lines: Vec<String> = audit.findings.iter().map(ToString::to_string).collect();
    let entry = |entry: Option<EntryNumber>| entry.map_or_else(|| "none".to_owned(), |entry| entry.to_string());
    lines.push(format!(
        "{} checked, sound until {}, lost from {}",
        audit.entries_checked,
        entry(audit.sound_until),
        entry(audit.lost_from)
    ));
    lines
}

/// The number of leaves and their root: what a seal would say.
pub(crate) fn seal(audit: &Audit) -> (usize, String) {
    (audit.leaves.len(), root_of(&audit.leaves).to_string())
}

impl Sheet {
    pub(crate) fn text(&self, path: &str) -> String {
        String::from_utf8(self.files[path].clone()).unwrap()
    }

    /// Puts one text for another, which must be there, in a file.
    pub(crate) fn replace(&mut self, path: &str, from: &str, to: &str) {
        let text = self.text(path);
        assert!(text.contains(from), "{text}");
        self.files.insert(path.to_owned(), text.replace(from, to).into_bytes());
    }

    pub(crate) fn put(&mut self, path: &str, text: &str) {
        self.files.insert(path.to_owned(), text.as_bytes().to_vec());
    }

    /// Makes the manifest anew from the files.
    pub(crate) fn list(&mut self) {
        let paths: Vec<(FilePath, &[u8])> =
            self.files.iter().map(|(path, bytes)| (path.parse().unwrap(), bytes.as_slice())).collect();
        let manifest = Manifest::over(paths.iter().map(|(path, bytes)| (path, *bytes))).to_string();
        self.put(MANIFEST_PATH, &manifest);
    }

    pub(crate) fn chain(&self) -> Chain {
        EntryFile::parse(&self.text("entry.toml")).unwrap().chain().clone()
    }

    /// The chain that an entry after this one states.
    pub(crate) fn chain_after(&self) -> Chain {
        let manifest: Manifest = self.text(MANIFEST_PATH).parse().unwrap();
        let blind: Blind = self.text(BLIND_PATH).parse().unwrap();
        self.chain().after(&blind.leaf_data(&manifest)).unwrap()
    }

    pub(crate) fn entry(&self) -> Entry {
        let vehicle = VehicleFile::parse(&self.text("vehicle.toml")).unwrap().into_vehicle();
        EntryFile::parse(&self.text("entry.toml")).unwrap().into_entry(|| Some(vehicle)).unwrap()
    }

    /// Writes the entry with another chain, and the manifest.
    pub(crate) fn rewrite(&mut self, entry: &Entry, chain: Chain) {
        self.put("entry.toml", &EntryFile::new(entry, Salt::from([7; 16]), chain).to_text());
        self.list();
    }
}

/// Gives the entries from `first` (counted from 0) on the chain that those before them give.
pub(crate) fn chain_anew(sheets: &mut [Sheet], first: usize) {
    for at in first..sheets.len() {
        let chain = if at == 0 { Chain::start() } else { sheets[at - 1].chain_after() };
        let entry = sheets[at].entry();
        sheets[at].rewrite(&entry, chain);
    }
}

/// Gives the entries from `first` on new numbers as well, in file and message.
pub(crate) fn number_anew(sheets: &mut [Sheet], first: usize) {
    for (at, sheet) in (0..).zip(sheets.iter_mut()).skip(first) {
        let mut entry = sheet.entry();
        let old = entry.number;
        entry.number = EntryNumber::new(at + 1).unwrap();
        sheet.message = format!("{}{}", entry.number, sheet.message.strip_prefix(&old.to_string()).unwrap());
        let chain = sheet.chain();
        sheet.rewrite(&entry, chain);
    }
}
