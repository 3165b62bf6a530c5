//! Writes the listing of a commit as git trees.

use std::collections::BTreeMap;

use git2::{FileMode, ObjectType, Oid, Repository, Tree};

use super::objects::ObjectWriter;
use super::read;
use crate::store::{FileContent, Files, StoreError};

/// A folder of the listing: what lies directly in it, by name.
#[derive(Default)]
struct Folder<'f> {
    files: BTreeMap<&'f str, &'f FileContent>,
    folders: BTreeMap<&'f str, Folder<'f>>,
}

impl<'f> Folder<'f> {
    fn of(files: &'f Files) -> Self {
        let mut root = Self::default();
        for (path, content) in files {
            let (above, name) = path.as_str().rsplit_once('/').unwrap_or(("", path.as_str()));
            let mut folder = &mut root;
            for part in above.split('/').filter(|part| !part.is_empty()) {
                folder = folder.folders.entry(part).or_default();
            }
            folder.files.insert(name, content);
        }
        root
    }
}

/// One line of a git tree.
#[derive(PartialEq, Eq)]
struct Line<'f> {
    mode: FileMode,
    name: &'f str,
    id: Oid,
}

/// Writes blobs and trees for `files` and returns the root tree.
///
/// A folder whose lines are those of the same folder in the commit before (`before`) is not
/// written again.
pub(super) fn write(
    repository: &Repository,
    objects: &ObjectWriter<'_>,
    files: &Files,
    before: Option<&Tree<'_>>,
) -> Result<Oid, StoreError> {
    write_folder(repository, objects, &Folder::of(files), before)
}

fn write_folder(
    repository: &Repository,
    objects: &ObjectWriter<'_>,
    folder: &Folder<'_>,
    before: Option<&Tree<'_>>,
) -> Result<Oid, StoreError> {
    let mut lines = Vec::new();
    for (&name, content) in &folder.files {
        let id = match content {
            FileContent::Kept(blob) => read::oid(blob.as_str()),
            FileContent::New(bytes) => objects.write(ObjectType::Blob, bytes)?,
        };
        lines.push(Line { mode: FileMode::Blob, name, id });
    }
    for (&name, below) in &folder.folders {
        let same_before = before.and_then(|tree| tree.get_name(name)).filter(|e| e.kind() == Some(ObjectType::Tree));
        let same_before = same_before.map(|entry| read::tree(repository, entry.id())).transpose()?;
        let id = write_folder(repository, objects, below, same_before.as_ref())?;
        lines.push(Line { mode: FileMode::Tree, name, id });
    }
    // Git sorts a folder as if its name ended in a slash.
    lines.sort_by_cached_key(|line| match line.mode {
        FileMode::Tree => format!("{}/", line.name),
        _ => line.name.to_owned(),
    });
    match before {
        Some(tree) if is_same(tree, &lines) => Ok(tree.id()),
        _ => objects.write(ObjectType::Tree, &encoded(&lines)),
    }
}

fn is_same(tree: &Tree<'_>, lines: &[Line<'_>]) -> bool {
    tree.len() == lines.len()
        && tree.iter().zip(lines).all(|(entry, line)| {
            entry.id() == line.id
                && entry.name_bytes() == line.name.as_bytes()
                && entry.filemode_raw() == i32::from(line.mode)
        })
}

/// A git tree: for each line the mode in octal, a space, the name, a NUL, and the id in 20 bytes.
fn encoded(lines: &[Line<'_>]) -> Vec<u8> {
    let mut bytes = Vec::new();
    for line in lines {
        bytes.extend_from_slice(format!("{:o} {}\0", i32::from(line.mode), line.name).as_bytes());
        bytes.extend_from_slice(line.id.as_bytes());
    }
    bytes
}
