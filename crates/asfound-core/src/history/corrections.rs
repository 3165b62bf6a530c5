//! What later entries say of earlier ones.

use std::collections::{BTreeMap, BTreeSet};

use crate::entry::{Body, Correction, Entry, Reason};
use crate::names::{EntryNumber, SettingPath};

/// The corrections in a journal, by the entry that they correct.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Corrections {
    by_entry: BTreeMap<EntryNumber, Vec<EntryNumber>>,
    never_made: BTreeSet<EntryNumber>,
    words: BTreeMap<EntryNumber, Reason>,
    was: BTreeMap<(EntryNumber, SettingPath), String>,
}

impl Corrections {
    /// Takes in what an entry says, where it is a correction.
    pub(super) fn push(&mut self, entry: &Entry) {
        if let Body::Correction(Correction { corrects, never_made, words, was, .. }) = &entry.body {
            let was = was.iter().map(|(path, text)| ((*corrects, path.clone()), text.clone()));
            self.was.extend(was);
            if let Some(words) = words {
                self.words.insert(*corrects, words.clone());
            }
            self.by_entry.entry(*corrects).or_default().push(entry.number);
            if *never_made {
                self.never_made.insert(*corrects);
            }
        }
    }

    /// The same with entries told by other numbers.
    pub(super) fn numbered(&self, number: &impl Fn(EntryNumber) -> EntryNumber) -> Self {
        let listed = |all: &[EntryNumber]| all.iter().map(|entry| number(*entry)).collect();
        Self {
            by_entry: self.by_entry.iter().map(|(entry, by)| (number(*entry), listed(by))).collect(),
            never_made: self.never_made.iter().map(|entry| number(*entry)).collect(),
            words: self.words.iter().map(|(entry, words)| (number(*entry), words.clone())).collect(),
            was: self.was.iter().map(|((entry, path), was)| ((number(*entry), path.clone()), was.clone())).collect(),
        }
    }

    pub(super) fn never_made(&self, entry: EntryNumber) -> bool {
        self.never_made.contains(&entry)
    }

    /// The words that an entry should have had, by its last correction.
    pub(super) fn words(&self, entry: EntryNumber) -> Option<&Reason> {
        self.words.get(&entry)
    }

    /// What an entry should have said that a setting held as found, by its last correction.
    pub(super) fn was(&self, entry: EntryNumber, setting: &SettingPath) -> Option<&str> {
        self.was.get(&(entry, setting.clone())).map(String::as_str)
    }

    pub(super) fn of(&self, entry: EntryNumber) -> &[EntryNumber] {
        self.by_entry.get(&entry).map_or(&[], Vec::as_slice)
    }
}
