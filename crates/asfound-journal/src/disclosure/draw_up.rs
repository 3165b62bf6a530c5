//! Draws up a disclosure from a journal.

use std::collections::BTreeSet;

use asfound_core::names::{EntryNumber, ModuleName};
use thiserror::Error;

use super::file::ShownEntry;
use super::pick::module_of;
use super::{Disclosure, DisclosureRequest, ModuleChoice};
use crate::FilePath;
use crate::journal::{EntryIndex, Journal, JournalError};
use crate::store::{CommitId, Store};

/// Why nothing can be disclosed.
#[derive(Debug, Error)]
pub enum DiscloseError {
    /// The journal cannot be read.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// No entry was chosen.
    #[error("no entry was chosen")]
    NoEntries,
    /// An entry was filed after the seal.
    #[error("entry {number} does not belong to the seal, which is over {sealed} entries")]
    AfterSeal {
        /// The entry.
        number: EntryNumber,
        /// How many entries the seal is over.
        sealed: usize,
    },
    /// None of the chosen entries knows the module.
    #[error("none of the chosen entries knows a module `{module}`")]
    NoModule {
        /// The module.
        module: ModuleName,
        /// Those that they know.
        known: BTreeSet<String>,
    },
    /// Nothing would be shown of an entry.
    #[error("there is nothing to show of entry {0}: it knows none of the modules")]
    Nothing(EntryNumber),
}

impl DiscloseError {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Journal(error) => error.hint(),
            Self::NoEntries => Some("name at least one, such as `asfound disclose wren 3 --out FILE`".to_owned()),
            Self::AfterSeal { .. } => Some("choose an earlier entry, or a later seal with `--at N`".to_owned()),
            Self::NoModule { known, .. } => {
                let known: Vec<&str> = known.iter().map(String::as_str).collect();
                Some(match known.as_slice() {
                    [] => "they know no modules yet".to_owned(),
                    known => format!("these are known: {}", known.join(", ")),
                })
            }
            Self::Nothing(_) => Some("leave it out, or show its entry.toml too".to_owned()),
        }
    }
}

/// The disclosure of the entries `numbers` of a journal, proven against the seal over all entries of `index`, or over
/// those up to `at`.
///
/// # Errors
/// When the journal cannot be read or is damaged, or what was picked is not there.
pub fn disclose<S: Store>(
    journal: &Journal<'_, S>,
    index: &EntryIndex,
    at: Option<EntryNumber>,
    numbers: &BTreeSet<EntryNumber>,
    pick: &DisclosureRequest,
) -> Result<Disclosure, DiscloseError> {
    if numbers.is_empty() {
        return Err(DiscloseError::NoEntries);
    }
    let mut known = BTreeSet::new();
    let mut shown = Vec::new();
    for &number in numbers {
        let commit = index.commit(number).filter(|_| at.is_none_or(|at| number <= at));
        let commit = commit.ok_or_else(|| {
            let sealed = at.map_or(index.len(), |at| usize::try_from(at.get()).unwrap_or(usize::MAX));
            DiscloseError::AfterSeal { number, sealed }
        })?;
        let entry = picked_from(journal, number, &commit, pick)?;
        known.extend(entry.manifest.iter().filter_map(|(path, _)| module_of(path)).map(str::to_owned));
        shown.push(entry);
    }
    if let ModuleChoice::Named(names) = &pick.modules
        && let Some(module) = names.iter().find(|name| !known.contains(name.as_str()))
    {
        return Err(DiscloseError::NoModule { module: module.clone(), known });
    }
    if let Some(empty) = shown.iter().find(|entry| entry.files.is_empty()) {
        return Err(DiscloseError::Nothing(empty.number));
    }
    Ok(Disclosure::of(&journal.leaves(index, at)?, &shown))
}

fn picked_from<S: Store>(
    journal: &Journal<'_, S>,
    number: EntryNumber,
    commit: &CommitId,
    pick: &DisclosureRequest,
) -> Result<ShownEntry, JournalError> {
    let (manifest, blind) = journal.manifest(commit)?;
    let text = |path: FilePath| {
        let text = journal.listed_text(commit, &manifest, &path)?;
        Ok::<_, JournalError>((path, text))
    };
    let mut files = Vec::new();
    for path in pick.fixed_files() {
        files.push(text(path.parse()?)?);
    }
    for path in pick.module_files(&manifest) {
        let module = text(path)?;
        if let Some(definition) = definition_of(&module.1, |path| manifest.get(path).is_some()) {
            files.push(text(definition)?);
        }
        files.push(module);
    }
    // Modules may share a definition.
    files.sort();
    files.dedup();
    Ok(ShownEntry { number, manifest, blind, files })
}

/// The file of the definition that explains a module, where the entry carries it.
fn definition_of(module: &str, carried: impl Fn(&str) -> bool) -> Option<FilePath> {
    let table: toml::Table = toml::from_str(module).ok()?;
    let path = format!("definitions/{}.toml", table.get("definition")?.as_str()?);
    if carried(&path) { path.parse().ok() } else { None }
}
