//! What lies in a repository and makes git read another history than was written. The program reads past all of it.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use git2::Repository;

use super::object_error::unreadable_file;
use crate::garage_file;
use crate::store::error::disk;
use crate::store::{RepositoryOddity, StoreError};

/// Where git looks for objects that stand in for others.
const REPLACEMENTS: &str = "refs/replace/";
/// No list of grafts or of shallow commits comes near this.
const LARGEST: u64 = 1 << 26;

pub(super) fn oddities(repository: &Repository) -> Result<Vec<RepositoryOddity>, StoreError> {
    let failed = |error: git2::Error| unreadable_file(format!("the references below {REPLACEMENTS}"), &error);
    let mut found = Vec::new();
    for name in repository.references_glob(&format!("{REPLACEMENTS}*")).map_err(failed)?.names() {
        let name = name.map_err(failed)?;
        found.extend(name.strip_prefix(REPLACEMENTS).map(|id| RepositoryOddity::Replaced(plain(id))));
    }
    // The library passes over references that it cannot read.
    found.extend(files_below(&repository.path().join(REPLACEMENTS))?.into_iter().map(RepositoryOddity::Replaced));
    found.extend(first_words(&repository.path().join("info/grafts"))?.into_iter().map(RepositoryOddity::Grafted));
    found.extend(first_words(&repository.path().join("shallow"))?.into_iter().map(RepositoryOddity::Shallow));
    found.sort();
    found.dedup();
    Ok(found)
}

/// What stands where an id should: somebody may have put anything there.
fn plain(text: &str) -> String {
    text.chars().take(40).flat_map(char::escape_default).collect()
}

fn files_below(folder: &Path) -> Result<Vec<String>, StoreError> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(disk("list", folder)(error)),
    };
    let mut names = Vec::new();
    for entry in entries {
        names.push(plain(&entry.map_err(disk("list", folder))?.file_name().to_string_lossy()));
    }
    Ok(names)
}

/// The first word of each line of a file, which are ids of commits.
fn first_words(path: &Path) -> Result<Vec<String>, StoreError> {
    let bytes = match garage_file::read_at_most(path, LARGEST) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(disk("read", path)(error)),
    };
    let text = String::from_utf8_lossy(&bytes);
    let lines = text.lines().filter(|line| !line.starts_with('#'));
    Ok(lines.filter_map(|line| line.split_whitespace().next()).map(plain).collect())
}
