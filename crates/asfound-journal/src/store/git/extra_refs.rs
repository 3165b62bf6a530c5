//! References beside the journals: lines that were kept, and what other places were seen to have.

use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use asfound_core::names::Tag;
use git2::ErrorCode;

use super::lock_timeouts::LockWait;
use super::object_error::refused;
use super::object_error::unreadable_file;
use super::stale::StaleLock;
use super::{GitStore, read};
use crate::garage_file;
use crate::store::error::disk;
use crate::store::{CommitId, Store, StoreError};

/// Where lines are kept that a journal went on with in another way: `refs/kept/<tag>/<commit>`.
pub(crate) const KEPT: &str = "refs/kept/";

impl GitStore {
    /// The references below a prefix that ends in a slash: the rest of the name, and the commit.
    pub(crate) fn references_below(&self, prefix: &str) -> Result<BTreeMap<String, CommitId>, StoreError> {
        let failed = |error: git2::Error| unreadable_file(format!("the references below {prefix}"), &error);
        let mut found = BTreeMap::new();
        for reference in self.repository.get().references_glob(&format!("{prefix}*")).map_err(failed)? {
            let reference = reference.map_err(failed)?;
            let name = reference.name().map_err(failed)?;
            if let (Some(rest), Some(id)) = (name.strip_prefix(prefix), reference.target()) {
                found.insert(rest.to_owned(), read::commit_id(id));
            }
        }
        Ok(found)
    }

    /// Has a reference that is no journal's point at a commit.
    pub(crate) fn set_reference(&self, name: &str, id: &CommitId) -> Result<(), StoreError> {
        let oid = read::oid(id.as_str());
        let mut waiting = LockWait::start(self.timeouts);
        // Under a lock of our own, so that a lock file which the last holder said it makes was left by it.
        let lock = self.writer_lock("_aside", "the garage", &mut waiting)?;
        self.check_reference_folders(name)?;
        let path = self.repository.path().join(format!("{name}.lock"));
        lock.makes(&path).map_err(disk("write the lock", &path))?;
        let mut stale = StaleLock::new(path, self.timeouts.stale);
        loop {
            self.remove_if_stale(&mut stale)?;
            match self.repository.for_reading()?.reference(name, oid, true, "") {
                Ok(_) => return Ok(()),
                Err(error) if error.code() == ErrorCode::Locked && waiting.pause() => {}
                Err(error) => return Err(refused(&format!("write {name}"), &error)),
            }
        }
    }

    /// Removes a reference that is no journal's; none is removed where there is none.
    pub(crate) fn drop_reference(&self, name: &str) -> Result<(), StoreError> {
        self.check_writable()?;
        self.check_reference_folders(name)?;
        match self.repository.get().find_reference(name) {
            Ok(mut found) => found.delete().map_err(|error| refused(&format!("remove {name}"), &error)),
            Err(error) if error.code() == ErrorCode::NotFound => Ok(()),
            Err(error) => Err(unreadable_file(name.to_owned(), &error)),
        }
    }

    /// That the folders in which a reference lies do not lead elsewhere.
    fn check_reference_folders(&self, name: &str) -> Result<(), StoreError> {
        let (root, folder) = (self.repository.path(), Path::new(name).parent().unwrap_or(Path::new("")));
        garage_file::check_folders(root, folder).map_err(disk("write below", &root.join(folder)))
    }

    /// Keeps the line that ends with `tip` beside the journal of `tag`.
    pub(crate) fn keep(&self, tag: &Tag, tip: &CommitId) -> Result<(), StoreError> {
        self.set_reference(&format!("{KEPT}{tag}/{tip}"), tip)
    }

    /// Whether `later` is `earlier`, or is reached from it going on.
    pub(crate) fn follows(&self, earlier: &CommitId, later: &CommitId) -> Result<bool, StoreError> {
        Ok(earlier == later || self.last_shared(earlier, later)?.as_ref() == Some(earlier))
    }

    /// The last commit that two lines share.
    pub(crate) fn last_shared(&self, one: &CommitId, other: &CommitId) -> Result<Option<CommitId>, StoreError> {
        let (one, other) = (self.line_to(one)?, self.line_to(other)?);
        Ok(one.into_iter().zip(other).take_while(|(a, b)| a == b).map(|(shared, _)| shared).last())
    }

    /// Whether anything may be kept beside the journal of `tag`: looked up without listing every reference there is.
    pub(super) fn may_keep(&self, tag: &Tag) -> Result<bool, StoreError> {
        let prefix = format!("{KEPT}{tag}/");
        if self.repository.path().join(&prefix).is_dir() {
            return Ok(true);
        }
        let path = self.repository.path().join("packed-refs");
        match fs::read(&path) {
            Ok(packed) => Ok(String::from_utf8_lossy(&packed).contains(&prefix)),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(false),
            Err(source) => Err(StoreError::Disk { doing: "read", path, source }),
        }
    }
}
