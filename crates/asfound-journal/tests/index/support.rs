//! A garage, read with its index and without.

use std::fs;
use std::path::PathBuf;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::Entry;
use asfound_core::history::OneSetting;
use asfound_core::names::Tag;
use asfound_journal::garage::Garage;
use asfound_journal::journal::{FiledEntry, Journal};
use asfound_journal::store::{GitStore, LockTimeouts, Store};
use tempfile::TempDir;

use crate::story;

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

    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join("garage")
    }

    pub(crate) fn index_file(&self, tag: &str) -> PathBuf {
        self.path().join("index").join(tag)
    }

    /// The same journals, without an index.
    pub(crate) fn plain(&self) -> GitStore {
        GitStore::open(&self.path().join("journals.git"), &self.path().join("locks"), LockTimeouts::default()).unwrap()
    }

    /// Holds what is read with the index against what is read without.
    #[track_caller]
    pub(crate) fn assert_same(&self, tag: &str) {
        let tag: Tag = tag.parse().unwrap();
        let (with, without) = (self.garage.store(), self.plain());
        assert_eq!(entries(with, &tag), entries(&without, &tag));
        for one in settings() {
            assert_eq!(parts(with, &tag, &one), parts(&without, &tag, &one), "{one:?}");
        }
    }

    /// Moves a branch by hand, as somebody could. Not with git: a lock outlives its file in a process that was just
    /// started, and the tests beside this one would find their index locked for a moment.
    pub(crate) fn set_branch(&self, tag: &str, to: &str) {
        fs::write(self.path().join("journals.git/refs/heads").join(tag), format!("{to}\n")).unwrap();
    }

    /// How long the index of a vehicle is; nothing where there is none.
    pub(crate) fn index_length(&self, tag: &str) -> Option<u64> {
        fs::metadata(self.index_file(tag)).ok().map(|metadata| metadata.len())
    }
}

pub(crate) fn entries(store: &impl Store, tag: &Tag) -> Vec<FiledEntry> {
    Journal::new(store, tag.clone()).entries().unwrap()
}

pub(crate) fn parts(store: &impl Store, tag: &Tag, one: &OneSetting) -> Vec<Entry> {
    let journal = Journal::new(store, tag.clone());
    journal.parts_of(&journal.tip().unwrap(), one).unwrap()
}

/// One that definitions place in a record, and one that is known by value alone.
pub(crate) fn settings() -> [OneSetting; 2] {
    let mut definitions = DefinitionSet::new();
    definitions.add(story::definition()).unwrap();
    ["body.lane_change_flashes", "doors.chime"].map(|path| OneSetting::new(path.parse().unwrap(), &definitions))
}
