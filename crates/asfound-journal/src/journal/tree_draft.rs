//! The files of an entry that is drawn up.

use std::collections::BTreeMap;

use asfound_core::definition::DefinitionSet;
use asfound_core::difference::ModuleSnapshot;
use asfound_core::names::{DefinitionId, EntryNumber};
use asfound_core::state::State;

use super::JournalError;
use super::error::peaks_text;
use super::read::{FiledEntry, Journal};
use crate::entry_files::{BLIND_PATH, Blind, BlindError, Chain, codes_text, evidence_path, module_text};
use crate::manifest::{MANIFEST_PATH, Manifest};
use crate::store::{BlobId, FileContent, Files, Store};
use crate::{Digest, FilePath};

/// The files of the next entry: those of the entry before, until they are replaced.
pub(super) struct TreeDraft {
    pub(super) chain: Chain,
    kept: BTreeMap<FilePath, BlobId>,
    manifest: Manifest,
    new: BTreeMap<FilePath, Vec<u8>>,
}

impl TreeDraft {
    pub(super) fn after<S: Store>(journal: &Journal<'_, S>, last: Option<&FiledEntry>) -> Result<Self, JournalError> {
        let Some(last) = last else {
            return Ok(Self {
                chain: Chain::start(),
                kept: BTreeMap::new(),
                manifest: Manifest::new(),
                new: BTreeMap::new(),
            });
        };
        let damaged = |what: String| JournalError::damaged(&journal.tag, &last.commit, &what);
        let text = journal.text(&last.commit, MANIFEST_PATH)?;
        let manifest: Manifest = text.parse().map_err(|error| damaged(format!("{error}")))?;
        let blind = journal.text(&last.commit, BLIND_PATH)?;
        let blind: Blind = blind.parse().map_err(|error: BlindError| damaged(error.to_string()))?;
        let chain = last.chain.after(&blind.leaf_data(&manifest)).map_err(|error| damaged(peaks_text(&error)))?;
        let mut kept = BTreeMap::new();
        for (path, blob) in journal.listing(&last.commit)?.files {
            let path: FilePath = path.parse().map_err(|error| damaged(format!("{error}")))?;
            // Evidence and the entry itself belong to their own entry; the history keeps them.
            if path.as_str() != MANIFEST_PATH && !path.as_str().starts_with("evidence/") {
                kept.insert(path, blob);
            }
        }
        let mut draft = Self { chain, kept, manifest: Manifest::new(), new: BTreeMap::new() };
        for path in draft.kept.keys() {
            let digest =
                manifest.get(path.as_str()).ok_or_else(|| damaged(format!("{path} is not in the manifest")))?;
            draft.manifest.insert(path.clone(), *digest);
        }
        Ok(draft)
    }

    /// The files of the entry after this one, which is drawn up and not filed: what is new in this one is new in both.
    pub(super) fn following(&self, blind: &Blind) -> Result<Self, JournalError> {
        let unfit = |error| JournalError::Unfit(peaks_text(&error));
        let chain = self.chain.after(&blind.leaf_data(&self.manifest)).map_err(unfit)?;
        let stays = |path: &FilePath| !path.as_str().starts_with("evidence/");
        let kept = self.kept.iter().filter(|(path, _)| stays(path)).map(|(path, blob)| (path.clone(), blob.clone()));
        let new = self.new.iter().filter(|(path, _)| stays(path)).map(|(path, text)| (path.clone(), text.clone()));
        let mut draft = Self { chain, kept: kept.collect(), manifest: Manifest::new(), new: new.collect() };
        for path in draft.kept.keys().chain(draft.new.keys()) {
            let digest = self.manifest.get(path.as_str());
            let digest = digest.ok_or_else(|| JournalError::Unfit(format!("{path} is not in the manifest")))?;
            draft.manifest.insert(path.clone(), *digest);
        }
        Ok(draft)
    }

    pub(super) fn put(&mut self, path: &str, text: String) -> Result<(), JournalError> {
        let path: FilePath = path.parse()?;
        self.put_bytes(path, text.into_bytes());
        Ok(())
    }

    /// Takes on a file, unless the entry before has it already with this content.
    fn put_bytes(&mut self, path: FilePath, content: Vec<u8>) {
        let digest = Digest::of(&content);
        if self.manifest.get(path.as_str()) == Some(&digest) {
            return;
        }
        self.manifest.insert(path.clone(), digest);
        self.kept.remove(&path);
        self.new.insert(path, content);
    }

    /// Writes the files of the modules that became different, and the definitions that explain them.
    pub(super) fn modules(
        &mut self,
        was: &State,
        state: &State,
        definitions: &DefinitionSet,
    ) -> Result<(), JournalError> {
        for (name, module) in &state.modules {
            let definition = definitions.fitting(name, &module.identity).ok().flatten();
            if let Some(definition) = definition {
                self.pin(definition.id(), definition.text())?;
            }
            let text = module_text(ModuleSnapshot { module, definition });
            self.put(&format!("modules/{name}.toml"), text)?;
        }
        let codes = codes_text(state);
        if codes != codes_text(was) || (was.last.is_none() && !codes.is_empty()) {
            self.put("trouble-codes.toml", codes)?;
        }
        Ok(())
    }

    /// Takes on an attached file; where its path is taken by another one of this entry, under the next free name.
    pub(super) fn attach(&mut self, number: EntryNumber, name: &str, content: Vec<u8>) -> Result<(), JournalError> {
        let mut path = evidence_path(number, name)?;
        let mut count = 1;
        // Some systems cannot tell names that differ in the case of letters apart.
        let is_taken = |draft: &Self, path: &FilePath| {
            draft.manifest.iter().any(|(other, _)| other.as_str().eq_ignore_ascii_case(path.as_str()))
        };
        while is_taken(self, &path) {
            count += 1;
            path = evidence_path(number, &format!("{count}_{name}"))?;
        }
        self.put_bytes(path, content);
        Ok(())
    }

    fn pin(&mut self, id: &DefinitionId, text: &str) -> Result<(), JournalError> {
        self.put(&format!("definitions/{id}.toml"), text.to_owned())
    }

    /// Hands the files out.
    pub(super) fn finish(&mut self) -> Files {
        let manifest = self.manifest.to_string().into_bytes();
        let path: FilePath = MANIFEST_PATH.parse().expect("the manifest's own path is well formed");
        self.new.insert(path, manifest);
        let kept = std::mem::take(&mut self.kept).into_iter().map(|(path, blob)| (path, FileContent::Kept(blob)));
        kept.chain(std::mem::take(&mut self.new).into_iter().map(|(path, content)| (path, FileContent::New(content))))
            .collect()
    }
}
