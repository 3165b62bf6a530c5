//! Reads what entries have otherwise than the entries before them: the part of an audit that needs no order.

use std::collections::BTreeMap;

use super::line::Link;
use crate::Digest;
use crate::manifest::MANIFEST_PATH;
use crate::record::{EntryFile, EntryFileError};
use crate::sign::{AllowedSigners, SignatureState, verify};
use crate::store::{BlobId, Reader, StoreError};

/// Where an entry's own words are.
pub(super) const ENTRY_PATH: &str = "entry.toml";

/// A file that was read and hashed.
pub(super) struct Fresh {
    pub(super) blob: BlobId,
    pub(super) bytes: Vec<u8>,
    /// Nothing for the manifest, which lists every file but itself.
    pub(super) digest: Option<Digest>,
}

/// What has become of a path.
pub(super) enum Change {
    /// It is new or has other content.
    Fresh(Fresh),
    /// It is new or has other content, which cannot be read.
    Unread(BlobId, StoreError),
    /// It is gone.
    Gone,
}

/// What an entry's files are.
pub(super) struct Turned {
    /// Whether these are all files, because those of the entry before cannot be listed.
    pub(super) whole: bool,
    /// By path.
    pub(super) changes: BTreeMap<String, Change>,
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
    before: Option<&Link>,
    link: &Link,
    allowed: &AllowedSigners,
) -> Result<Turned, StoreError> {
    let text = link.text.clone().map_or_else(|| store.commit_text(&link.id), Ok)?;
    let (whole, listed) = match store.changes(before.map(|link| &link.tree), &link.tree) {
        Ok(listed) => (before.is_none(), listed),
        // It may be the one before that is damaged.
        Err(_) => (true, store.changes(None, &link.tree)?),
    };
    let read = |path: &str, blob: Option<BlobId>| match blob {
        None => Change::Gone,
        Some(blob) => match store.read(&blob) {
            Ok(bytes) => {
                let digest = (path != MANIFEST_PATH).then(|| Digest::of(&bytes));
                Change::Fresh(Fresh { blob, bytes, digest })
            }
            Err(error) => Change::Unread(blob, error),
        },
    };
    let changes: BTreeMap<String, Change> = listed
        .into_iter()
        .map(|(path, blob)| {
            let change = read(&path, blob);
            (path, change)
        })
        .collect();
    let words = match changes.get(ENTRY_PATH) {
        Some(Change::Fresh(fresh)) => Some(EntryFile::parse(&String::from_utf8_lossy(&fresh.bytes))),
        _ => None,
    };
    let signature = verify(&text, allowed);
    Ok(Turned { whole, changes, words, text, signature })
}
