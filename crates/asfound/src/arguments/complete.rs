//! What the shell offers for tags, settings and layers of packages.

use std::ffi::OsStr;
use std::path::PathBuf;

use asfound_core::definition::Definition;
use asfound_journal::garage::Garage;
use asfound_journal::store::Store;
use asfound_odx::{Converter, Limits, Package};
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

/// The largest package that is opened while somebody types: nobody waits for more.
const MOST_OPENED: u64 = 16 << 20;

/// A word of a command line without its quotes and backslashes, and with the home directory for `~/`.
fn as_a_shell_reads(word: &str) -> String {
    let (mut read, mut quote, mut letters) = (String::new(), None, word.chars());
    while let Some(letter) = letters.next() {
        match (letter, quote) {
            ('\\', None | Some('"')) => read.extend(letters.next()),
            ('\'' | '"', None) => quote = Some(letter),
            (letter, Some(open)) if letter == open => quote = None,
            (letter, _) => read.push(letter),
        }
    }
    match (word.strip_prefix("~/"), std::env::home_dir()) {
        (Some(_), Some(home)) => home.join(&read[2..]).to_string_lossy().into_owned(),
        _ => read,
    }
}

/// The layers of the package that the command line names before the word at hand.
pub fn layers_of_package(current: &OsStr) -> Vec<CompletionCandidate> {
    let is_package = |path: &PathBuf| {
        let ending = path.extension().map(|ending| ending.to_ascii_lowercase());
        let ending = ending.is_some_and(|ending| ["pdx", "odx", "odx-d"].iter().any(|one| ending == *one));
        ending && std::fs::metadata(path).is_ok_and(|file| file.is_file() && file.len() <= MOST_OPENED)
    };
    // The words of the line being typed are the arguments of the program that completes it, written as they are typed.
    let typed = std::env::args_os().skip(1);
    let paths =
        typed.flat_map(|word| [Some(PathBuf::from(&word)), word.to_str().map(|word| as_a_shell_reads(word).into())]);
    let Some(path) = paths.flatten().find(is_package) else { return Vec::new() };
    let Ok(package) = Package::outline(&path, Limits::default(), &mut |_| {}) else { return Vec::new() };
    let names = Converter::new(&package).names();
    matching(current, names.into_iter().map(|name| (name, String::new())))
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
