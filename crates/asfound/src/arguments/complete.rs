//! What the shell offers for tags and settings.

use std::ffi::OsStr;
use std::path::PathBuf;

use asfound_core::definition::Definition;
use asfound_journal::garage::Garage;
use asfound_journal::store::Store;
use clap_complete::CompletionCandidate;

use crate::setup::{Environment, garage_definitions};

/// The garage, found without a command line: completion sees only the word at hand.
fn garage() -> Option<Garage> {
    let path: PathBuf = Environment::look().ok()?.garage?;
    Garage::open(&path).ok()
}

fn matching(current: &OsStr, words: impl Iterator<Item = (String, String)>) -> Vec<CompletionCandidate> {
    let current = current.to_string_lossy();
    let fits = words.filter(|(word, _)| word.starts_with(current.as_ref()));
    fits.map(|(word, help)| CompletionCandidate::new(word).help(Some(help.into()))).collect()
}

/// The tags of the garage.
pub fn tags(current: &OsStr) -> Vec<CompletionCandidate> {
    let tags = garage().and_then(|garage| garage.store().tags().ok()).unwrap_or_default();
    matching(current, tags.into_iter().map(|tag| (tag.to_string(), String::new())))
}

/// The settings that the garage's definitions know, ready for a value.
pub fn settings_of_vehicle(current: &OsStr) -> Vec<CompletionCandidate> {
    let Some(definitions) = garage().and_then(|garage| garage_definitions(&garage).ok()) else { return Vec::new() };
    let settings = definitions.iter().flat_map(|definition: &Definition| {
        let module = definition.applies_to().module().clone();
        definition
            .settings()
            .values()
            .map(move |setting| (format!("{module}.{}", setting.name()), setting.label().to_owned()))
    });
    let mut settings: Vec<_> = settings.collect();
    settings.sort();
    settings.dedup_by(|a, b| a.0 == b.0);
    matching(current, settings.into_iter())
}
