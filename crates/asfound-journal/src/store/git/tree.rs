//! Makes git trees of the listing of a commit.

use std::collections::BTreeMap;

use git2::{FileMode, ObjectType, Oid};

use super::pending::{Folders, PendingCommit, PendingObjects, hash};
use super::read;
use crate::store::{BlobId, FileContent, Files, StoreError};

/// A folder of the listing: what lies directly in it, by name.
#[derive(Default)]
struct TreeFolder<'f> {
    files: BTreeMap<&'f str, &'f FileContent>,
    folders: BTreeMap<&'f str, TreeFolder<'f>>,
}

impl<'f> TreeFolder<'f> {
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
struct TreeEntry<'f> {
    mode: FileMode,
    name: &'f str,
    id: Oid,
}

/// Where everything of a commit is.
#[derive(Default)]
pub(super) struct CommitListing {
    pub(super) files: BTreeMap<String, BlobId>,
    pub(super) folders: Folders,
}

/// Makes the blobs and trees of the listing `files`; hands back the root tree as well.
///
/// What is in the commit before is not made again, and what is new is like what lay at its place there.
pub(super) fn make(
    fresh: &mut PendingObjects,
    files: &Files,
    before: Option<&PendingCommit>,
) -> Result<(Oid, CommitListing), StoreError> {
    let mut making = TreeBuilder { fresh, before, listed: CommitListing::default() };
    let root = making.folder(&TreeFolder::of(files), "")?;
    Ok((root, making.listed))
}

struct TreeBuilder<'m> {
    fresh: &'m mut PendingObjects,
    before: Option<&'m PendingCommit>,
    listed: CommitListing,
}

impl TreeBuilder<'_> {
    fn folder(&mut self, folder: &TreeFolder<'_>, path: &str) -> Result<Oid, StoreError> {
        let below = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}/{name}") };
        let mut lines = Vec::new();
        for (&name, content) in &folder.files {
            let path = below(name);
            let id = match content {
                FileContent::Kept(blob) => read::oid(blob.as_str()),
                FileContent::New(bytes) => {
                    let was = self.before.and_then(|before| before.commit.files.get(&path));
                    self.object(ObjectType::Blob, bytes.clone(), was.map(|blob| read::oid(blob.as_str())))?
                }
            };
            self.listed.files.insert(path, read::blob_id(id));
            lines.push(TreeEntry { mode: FileMode::Blob, name, id });
        }
        for (&name, content) in &folder.folders {
            let id = self.folder(content, &below(name))?;
            lines.push(TreeEntry { mode: FileMode::Tree, name, id });
        }
        // Git sorts a folder as if its name ended in a slash.
        lines.sort_by_cached_key(|line| match line.mode {
            FileMode::Tree => format!("{}/", line.name),
            _ => line.name.to_owned(),
        });
        let was = self.before.and_then(|before| before.folders.get(path).copied());
        let id = self.object(ObjectType::Tree, encoded(&lines), was)?;
        self.listed.folders.insert(path.to_owned(), id);
        Ok(id)
    }

    fn object(&mut self, kind: ObjectType, content: Vec<u8>, was: Option<Oid>) -> Result<Oid, StoreError> {
        let id = hash(kind, &content)?;
        if self.before.is_none_or(|before| !before.names(id)) {
            self.fresh.add(id, kind, content, was);
        }
        Ok(id)
    }
}

/// A git tree: for each line the mode in octal, a space, the name, a NUL, and the id in 20 bytes.
fn encoded(lines: &[TreeEntry<'_>]) -> Vec<u8> {
    let mut bytes = Vec::new();
    for line in lines {
        bytes.extend_from_slice(format!("{:o} {}\0", i32::from(line.mode), line.name).as_bytes());
        bytes.extend_from_slice(line.id.as_bytes());
    }
    bytes
}
