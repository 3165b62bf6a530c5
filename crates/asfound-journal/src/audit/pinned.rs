//! The definitions that an entry carries.

use std::collections::BTreeMap;

use asfound_core::definition::{Definition, DefinitionFormat};
use asfound_core::document::{Problems, Severity};
use asfound_core::identity::Identity;
use asfound_core::names::{DefinitionId, ModuleName};
use serde::Deserialize;

use super::files::CurrentFiles;
use super::{DefinitionFault, FindingKind};

/// The definitions of the entry at hand. Each is parsed once, when it first appears.
#[derive(Debug, Default)]
pub(super) struct PinnedDefinitions {
    /// By path; nothing for one that cannot be used, which was said when it appeared.
    by_path: BTreeMap<String, Option<Definition>>,
}

/// What there is of a definition.
pub(super) enum Lookup<'p> {
    /// It is not there.
    Absent,
    /// It is there and cannot be used.
    Unusable,
    /// It is there.
    Usable(&'p Definition),
}

#[derive(Deserialize)]
struct Format {
    format: String,
}

/// The path of a definition.
pub(super) fn path_of(id: &DefinitionId) -> String {
    format!("definitions/{id}.toml")
}

fn is_definition(path: &str) -> bool {
    path.strip_prefix("definitions/").is_some_and(|name| name.strip_suffix(".toml").is_some())
}

impl PinnedDefinitions {
    /// Moves on to the definitions among `files`. Says whether any changed.
    pub(super) fn turn(&mut self, files: &CurrentFiles, findings: &mut Vec<FindingKind>) -> bool {
        let mut changed = false;
        for path in files.gone().filter(|path| is_definition(path)) {
            changed = true;
            self.by_path.remove(path);
            findings.push(FindingKind::Dropped(path.to_owned()));
        }
        for (path, bytes) in files.fresh().filter(|(path, _)| is_definition(path)) {
            changed = true;
            let definition = match parse(path, bytes) {
                Ok(definition) => Some(definition),
                Err(finding) => {
                    findings.push(finding);
                    None
                }
            };
            self.by_path.insert(path.to_owned(), definition);
        }
        changed
    }

    /// The definition that fits a module; of several, the first by name.
    pub(super) fn fitting(&self, module: &ModuleName, identity: &Identity) -> Option<&Definition> {
        self.by_path.values().flatten().find(|definition| definition.applies_to().fits(module, identity))
    }

    /// A definition by name.
    pub(super) fn get(&self, id: &DefinitionId) -> Lookup<'_> {
        match self.by_path.get(&path_of(id)) {
            None => Lookup::Absent,
            Some(None) => Lookup::Unusable,
            Some(Some(definition)) => Lookup::Usable(definition),
        }
    }
}

fn parse(path: &str, bytes: &[u8]) -> Result<Definition, FindingKind> {
    let fault = |fault| FindingKind::Definition { path: path.to_owned(), fault };
    let text = std::str::from_utf8(bytes).map_err(|error| fault(DefinitionFault::Form(error.to_string())))?;
    let definition = Definition::parse_pinned(text).map_err(|problems| match newer(text) {
        Some(format) => FindingKind::NewerFormat { path: path.to_owned(), format },
        None => fault(DefinitionFault::Form(first(&problems))),
    })?;
    let definition = definition.definition;
    if path_of(definition.id()) != path {
        return Err(fault(DefinitionFault::Id(definition.id().clone())));
    }
    Ok(definition)
}

/// The format of a text that says it is a definition of another version.
fn newer(text: &str) -> Option<String> {
    let Format { format } = toml::from_str(text).ok()?;
    DefinitionFormat::is_newer(&format).then_some(format)
}

/// The first thing that is wrong.
fn first(problems: &Problems) -> String {
    let errors = problems.as_slice().iter().filter(|problem| problem.level == Severity::Error);
    errors.map(ToString::to_string).next().unwrap_or_default()
}
