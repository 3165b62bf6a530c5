//! Holds what the index told against the journal itself, before anything rests on it.
//!
//! What is known of the modules now is held against the files of the last entry, which cost little: where the text that a file
//! should have is the one that the manifest lists, the file is not even read. What was before is held against the entries that
//! it is taken from, and only these, together with the line of commits that leads to them.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::DefinitionSet;
use asfound_core::difference::ModuleSnapshot;
use asfound_core::entry::{Body, PutBackOf};
use asfound_core::names::{EntryNumber, ModuleName};
use asfound_core::state::{ModuleState, State};

use super::read::Journal;
use super::{EntryIndex, JournalError};
use crate::Digest;
use crate::entry_files::{StoredModule, module_text};
use crate::index;
use crate::store::{CommitId, Store};

/// What something rests on, besides what is known of the modules now.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Basis {
    /// Entries whose contents as found or as left are used.
    pub entries: BTreeSet<EntryNumber>,
    /// An entry to whose state there is a way back.
    pub back_to: Option<EntryNumber>,
}

impl Basis {
    /// What an entry that is to be filed rests on.
    pub(crate) fn of<'b>(bodies: impl IntoIterator<Item = &'b Body>) -> Self {
        let mut basis = Self::default();
        for body in bodies {
            match body {
                Body::PutBack(PutBackOf::Entries(entries), _) => basis.entries.extend(entries),
                Body::PutBack(PutBackOf::ReturnTo(entry), _) => {
                    basis.back_to = Some(basis.back_to.map_or(*entry, |before| before.min(*entry)));
                }
                Body::Correction(correction) => drop(basis.entries.insert(correction.corrects)),
                _ => {}
            }
        }
        basis
    }

    /// The first entry that it needs; nothing where it needs none.
    fn first(&self) -> Option<EntryNumber> {
        self.entries.first().copied().into_iter().chain(self.back_to).min()
    }
}

/// Where a module's file lies in the tree of an entry.
fn module_path(module: &ModuleName) -> String {
    format!("modules/{module}.toml")
}

impl<S: Store> Journal<'_, S> {
    /// Whether what the index told of a journal is what the journal says, as far as something rests on it: `state` is what is
    /// known after the last entry of `index`, explained by `definitions`. What came from the journal itself is not asked again.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn confirms(
        &self,
        index: &EntryIndex,
        state: &State,
        definitions: &DefinitionSet,
        basis: &Basis,
    ) -> Result<bool, JournalError> {
        let Some(last) = index.last().filter(|_| index.indexed > 0) else { return Ok(true) };
        let Some(tip) = index.commit(last) else { return Ok(true) };
        let there = self.entry_at(&tip)?;
        if there.entry.number != last || state.last != Some(last) || !self.confirms_state(&tip, state, definitions)? {
            return Ok(false);
        }
        // Of an entry that is not there the index has told nothing.
        match basis.first().filter(|first| *first <= last) {
            Some(first) => self.confirms_entries(index, first, definitions, basis),
            None => Ok(true),
        }
    }

    /// Reads something of the journal, and reads it once more without the index where that fails, before the journal is called
    /// damaged.
    ///
    /// # Errors
    /// Those of `read`.
    pub fn reread<T, E>(&self, read: impl Fn() -> Result<T, E>) -> Result<T, E> {
        let first = read();
        let (Err(_), Some(folder)) = (&first, self.store.index()) else { return first };
        folder.throw_away(&self.tag);
        let Ok(second) = read() else { return first };
        self.note_disagreement();
        Ok(second)
    }

    /// The entries of a roll as the journal itself has them, where the index told of any; it is thrown away, and nothing is noted yet.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn without_index(&self, index: &EntryIndex) -> Result<Option<EntryIndex>, JournalError> {
        let Some(folder) = self.store.index().filter(|_| index.indexed > 0) else { return Ok(None) };
        folder.throw_away(&self.tag);
        self.index().map(Some)
    }

    /// Throws the index away, because it does not agree with the journal, and notes that.
    pub fn disown_index(&self) {
        if let Some(folder) = self.store.index() {
            folder.throw_away(&self.tag);
        }
        self.note_disagreement();
    }

    /// Notes that the index, which was thrown away, did not agree with the journal.
    pub fn note_disagreement(&self) {
        if let Some(folder) = self.store.index() {
            folder.note_disagreement(&self.tag);
        }
    }

    /// Whether a state says of every module what the entry of that commit does.
    fn confirms_state(
        &self,
        commit: &CommitId,
        state: &State,
        definitions: &DefinitionSet,
    ) -> Result<bool, JournalError> {
        let (manifest, _) = self.manifest(commit)?;
        // What is there besides files of modules hides none.
        let module_of = |path: &str| {
            let name = path.strip_prefix("modules/").and_then(|name| name.strip_suffix(".toml"));
            name.and_then(|name| name.parse::<ModuleName>().ok())
        };
        let files = manifest.iter().filter_map(|(path, _)| module_of(path.as_str())).count();
        if files != state.modules.len() {
            return Ok(false);
        }
        for (name, module) in &state.modules {
            let Some(listed) = manifest.get(&module_path(name)) else { return Ok(false) };
            if !self.confirms_module(commit, name, module, definitions, listed)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn confirms_module(
        &self,
        commit: &CommitId,
        name: &ModuleName,
        module: &ModuleState,
        definitions: &DefinitionSet,
        listed: &Digest,
    ) -> Result<bool, JournalError> {
        let definition = definitions.fitting(name, &module.identity).ok().flatten();
        if Digest::of(module_text(ModuleSnapshot { module, definition }).as_bytes()) == *listed {
            return Ok(true);
        }
        // The definition may be another one by now; what it explains may not.
        let text = self.text(commit, &module_path(name))?;
        let stored = StoredModule::parse(&text).map_err(|error| JournalError::damaged(&self.tag, commit, &error))?;
        Ok(stored.is_of(module))
    }

    /// Whether the entries that something rests on are what the index told: they stand in the line where it says, and say what
    /// it says.
    fn confirms_entries(
        &self,
        index: &EntryIndex,
        first: EntryNumber,
        definitions: &DefinitionSet,
        basis: &Basis,
    ) -> Result<bool, JournalError> {
        let Some(kinds) = self.line_back_to(index, first)? else { return Ok(false) };
        let mut state = State::default();
        for filed in index::each(self, &index.commits) {
            let filed = filed?;
            let entry = &filed.entry;
            let back_to = basis.back_to.filter(|back_to| *back_to >= entry.number);
            // A correction, or what became known only later, bears on what was before.
            let is_later = entry.number > first;
            let bears = basis.entries.contains(&entry.number)
                || (is_later && (matches!(entry.body, Body::Correction(_)) || first_known(&entry.body)))
                || kinds.get(&entry.number).is_some_and(|kind| kind != entry.body.kind());
            if bears && self.entry_at(&filed.commit)? != filed {
                return Ok(false);
            }
            if back_to.is_some() && state.apply(entry).is_err() {
                return Ok(false);
            }
            if back_to == Some(entry.number) && !self.confirms_state(&filed.commit, &state, definitions)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The kinds of the entries from `first` on, as the messages of their commits have them; nothing where the line of
    /// commits is another one than the index told.
    fn line_back_to(
        &self,
        index: &EntryIndex,
        first: EntryNumber,
    ) -> Result<Option<BTreeMap<EntryNumber, String>>, JournalError> {
        let mut kinds = BTreeMap::new();
        let mut next = index.last().and_then(|last| Some((last, index.commit(last)?)));
        while let Some((number, commit)) = next {
            let text = self.store.commit_text(&commit)?;
            kinds.insert(number, kind_in(&text, number));
            if number == first {
                return Ok(Some(kinds));
            }
            let parent = self.store.parent(&commit)?;
            next = EntryNumber::new(number.get() - 1).zip(parent);
            if next.as_ref().is_none_or(|(number, parent)| index.commit(*number).as_ref() != Some(parent)) {
                return Ok(None);
            }
        }
        Ok(None)
    }
}

/// The kind of an entry, from the text of its commit: `3 change …` or `3 change: …`. Empty where it says none.
fn kind_in(text: &[u8], number: EntryNumber) -> String {
    let text = String::from_utf8_lossy(text);
    let message = text.split_once("\n\n").map_or("", |(_, message)| message);
    let rest = message.strip_prefix(&format!("{number} ")).unwrap_or_default();
    rest.split([' ', ':', '\n']).next().unwrap_or_default().to_owned()
}

/// Whether an entry tells of something that was not known before.
fn first_known(body: &Body) -> bool {
    body.effects().is_some_and(|effects| {
        effects.records.iter().any(|effect| effect.found.is_none())
            || effects.stated.iter().any(|effect| effect.found.is_none())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_kind_is_read_from_the_message() {
        let number = EntryNumber::new(12).unwrap();
        let kind = |message: &str| kind_in(format!("tree t\nauthor a\n\n{message}").as_bytes(), number);
        assert_eq!(kind("12 put-back of 3\n\nwhy\n"), "put-back");
        assert_eq!(kind("12 note: horn\n\nwhy\n"), "note");
        assert_eq!(kind("12 change\n\nwhy\n"), "change");
        assert_eq!(kind("1 change\n\nwhy\n"), "");
        assert_eq!(kind_in(b"", number), "");
    }
}
