//! The tips of all journals at once.
//!
//! A look at each branch by itself takes longer than everything else that a list of many vehicles needs. The two forms
//! in which git keeps branches are read as `gitrepository-layout(5)` and git's documentation of `packed-refs` have them:
//! files in `refs/heads`, and lines of `packed-refs` for those that have no file.

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, ErrorKind};
use std::path::Path;

use asfound_core::names::Tag;

use super::tip::BRANCHES;
use crate::garage_file;
use crate::store::{CommitId, StoreError};

/// The tips, and the journals whose branch needs a closer look.
pub(super) fn tips(repository: &Path) -> Result<(BTreeMap<Tag, CommitId>, Vec<Tag>), StoreError> {
    // A branch that is packed in between loses its file only after it is in `packed-refs`, which is read last.
    let folder = repository.join(BRANCHES);
    let (mut tips, mut unclear) = (BTreeMap::new(), Vec::new());
    for tag in names(&folder).map_err(|source| StoreError::Disk { doing: "list", path: folder.clone(), source })? {
        match regular_text(&folder.join(tag.as_str())).map(|text| text.trim_end().parse()) {
            Ok(Ok(tip)) => drop(tips.insert(tag, tip)),
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            _ => unclear.push(tag),
        }
    }
    let packed = repository.join("packed-refs");
    let text = match regular_text(&packed) {
        Ok(text) => text,
        Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
        Err(source) => return Err(StoreError::Disk { doing: "read", path: packed, source }),
    };
    for line in text.lines() {
        let Some((id, name)) = line.split_once(' ') else { continue };
        let Some(Ok(tag)) = name.strip_prefix(BRANCHES).map(str::parse::<Tag>) else { continue };
        if let Ok(tip) = id.parse() {
            tips.entry(tag).or_insert(tip);
        }
    }
    Ok((tips, unclear))
}

/// The text of a file; other things than files are not waited for.
fn regular_text(path: &Path) -> io::Result<String> {
    String::from_utf8(garage_file::read_at_most(path, u64::MAX)?).map_err(|_| ErrorKind::InvalidData.into())
}

/// The files in a folder whose names are tags.
fn names(folder: &Path) -> io::Result<Vec<Tag>> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(error),
    };
    let mut tags = Vec::new();
    for entry in entries {
        let entry = entry?;
        if entry.file_type()?.is_file() {
            tags.extend(entry.file_name().to_str().and_then(|name| name.parse().ok()));
        }
    }
    Ok(tags)
}
