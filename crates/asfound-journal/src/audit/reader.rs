//! Reads what entries have otherwise than the entries before them: the part of an audit that needs no order.

use std::collections::BTreeMap;

use super::commit_line::LineCommit;
use crate::Digest;
use crate::entry_files::{EntryFile, EntryFileError};
use crate::manifest::MANIFEST_PATH;
use crate::sign::{AllowedSigners, SignatureState, verify};
use crate::store::{BlobId, Reader, StoreError};

/// Where an entry's own words are.
pub(super) const ENTRY_PATH: &str = "entry.toml";

/// A file that was read and hashed.
pub(super) struct ReadFile {
    pub(super) blob: BlobId,
    pub(super) bytes: Vec<u8>,
    /// Nothing for the manifest, which lists every file but itself.
    pub(super) digest: Option<Digest>,
}

/// What has become of a path.
pub(super) enum PathChange {
    /// It is new or has other content.
    Fresh(ReadFile),
    /// It is new or has other content, which cannot be read.
    Unread(BlobId, StoreError),
    /// It is gone.
    Gone,
}

/// What an entry's files are.
pub(super) struct EntryFiles {
    /// Whether these are all files, because those of the entry before cannot be listed.
    pub(super) whole: bool,
    /// By path.
    pub(super) changes: BTreeMap<String, PathChange>,
    /// `entry.toml`, where it is among them.
    pub(super) words: Option<Result<EntryFile, EntryFileError>>,
    /// The text of the commit.
    pub(super) text: Vec<u8>,
    /// What the commit's signature is worth, whatever the entry says of it.
    pub(super) signature: SignatureState,
}

/// Reads the files of a commit that the one before it has not, and holds its signature against the keys that are trusted.
pub(super) fn read(
    store: &dyn Reader,
    before: Option<&LineCommit>,
    link: &LineCommit,
    allowed: &AllowedSigners,
) -> Result<EntryFiles, StoreError> {
    let text = link.text.clone().map_or_else(|| store.commit_text(&link.id), Ok)?;
    let (whole, listed) = match store.changes(before.map(|link| &link.tree), &link.tree) {
        Ok(listed) => (before.is_none(), listed),
        // It may be the one before that is damaged.
        Err(_) => (true, store.changes(None, &link.tree)?),
    };
    let read = |path: &str, blob: Option<BlobId>| match blob {
        None => PathChange::Gone,
        Some(blob) => match store.read(&blob) {
            Ok(bytes) => {
                let digest = (path != MANIFEST_PATH).then(|| Digest::of(&bytes));
                PathChange::Fresh(ReadFile { blob, bytes, digest })
            }
            Err(error) => PathChange::Unread(blob, error),
        },
    };
    let changes: BTreeMap<String, PathChange> = listed
        .into_iter()
        .map(|(path, blob)| {
            let change = read(&path, blob);
            (path, change)
        })
        .collect();
    let words = match changes.get(ENTRY_PATH) {
        Some(PathChange::Fresh(fresh)) => Some(EntryFile::parse(&String::from_utf8_lossy(&fresh.bytes))),
        _ => None,
    };
    let signature = verify(&text, allowed);
    Ok(EntryFiles { whole, changes, words, text, signature })
}
