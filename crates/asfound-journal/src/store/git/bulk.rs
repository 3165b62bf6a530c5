//! Files many entries at once: their objects in one pack, their references last.
//!
//! Each entry is as durable as one that is filed alone, but none is there before the whole portion is: the pack is written, taken apart
//! again and synced first, then the references are moved, each by compare-and-set. Killed in between, a portion is there for
//! some journals and not for others, and each of these has either none or all of its entries of the portion.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::PathBuf;

use asfound_core::names::Tag;

use super::fresh::Fresh;
use super::lock::WriterLock;
use super::patience::Waiting;
use super::stale::StaleLock;
use super::tidy::add_pack;
use super::{GitStore, read, tip};
use crate::durable;
use crate::store::{CommitId, Holder, StoreError};

/// A journal that is to go on: its vehicle, the end that it has, and the one that it is to have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Move {
    pub(crate) tag: Tag,
    pub(crate) from: Option<CommitId>,
    pub(crate) to: CommitId,
}

impl GitStore {
    /// Lets `work` make entries, then writes all that were made, and moves the journals that it names. Hands back those that
    /// have moved on meanwhile, which are as they were found.
    ///
    /// # Errors
    /// When the disk refuses; journals may have been moved by then, each as a whole.
    pub(crate) fn in_one_pack(&self, work: impl FnOnce(&RefCell<Fresh>) -> Vec<Move>) -> Result<Vec<Tag>, StoreError> {
        let fresh = RefCell::default();
        let moves = work(&fresh);
        {
            let mut waiting = Waiting::start(self.patience);
            let _lock = WriterLock::take(&self.locks, "_bulk", "the garage", &mut waiting)?;
            add_pack(self, &fresh.into_inner())?;
        }
        self.move_all(&moves)
    }

    fn move_all(&self, moves: &[Move]) -> Result<Vec<Tag>, StoreError> {
        let mut waiting = Waiting::start(self.patience);
        let folder = self.repository.path().join("refs/heads");
        durable::make_folder(&folder).map_err(disk("make the folder", &folder))?;
        let mut overtaken = Vec::new();
        let mut ready: Vec<Ready> = Vec::new();
        // Everybody takes several locks in one order, so that nobody waits for somebody who waits for him.
        let in_order: BTreeMap<&Tag, &Move> = moves.iter().map(|next| (&next.tag, next)).collect();
        for next in in_order.into_values() {
            let what = format!("the journal of `{}`", next.tag);
            let lock = WriterLock::take(&self.locks, next.tag.as_str(), &what, &mut waiting)?;
            let file = self.locked(next, &folder, &mut waiting)?;
            // Looked at once nobody can move it any more.
            if tip::tip(&self.repository.get(), &next.tag)? != next.from.as_ref().map(|id| read::oid(id.as_str())) {
                overtaken.push(next.tag.clone());
                continue;
            }
            ready.push(Ready { file, next, _lock: lock });
        }
        for ready in &mut ready {
            let lock = ready.file.path.clone();
            ready.file.write(&ready.next.to).map_err(disk("write", &lock))?;
        }
        durable::all_at_once(&ready, |Ready { file, .. }| file.file.sync_all().map_err(disk("sync", &file.path)))?;
        for Ready { file, next, .. } in &mut ready {
            let to = folder.join(next.tag.as_str());
            fs::rename(&file.path, &to).map_err(disk("name", &to))?;
            file.renamed = true;
        }
        durable::sync_folder(&folder).map_err(disk("sync", &folder))?;
        for Ready { next, .. } in &ready {
            let found = tip::tip(&self.repository.get(), &next.tag)?.map(read::commit_id);
            if found.as_ref() != Some(&next.to) {
                return Err(StoreError::NotFiled { tag: next.tag.clone(), commit: next.to.clone(), found });
            }
        }
        Ok(overtaken)
    }

    /// The lock file that git has for a reference, made by us.
    fn locked(&self, next: &Move, folder: &std::path::Path, waiting: &mut Waiting) -> Result<LockFile, StoreError> {
        let path = folder.join(format!("{}.lock", next.tag));
        let mut stale = StaleLock::new(path.clone(), self.patience.stale);
        loop {
            stale.remove_if_stale()?;
            match OpenOptions::new().write(true).create_new(true).open(&path) {
                Ok(file) => return Ok(LockFile { path, file, renamed: false }),
                Err(error) if error.kind() == ErrorKind::AlreadyExists => {
                    if !waiting.pause() {
                        let what = format!("the journal of `{}`", next.tag);
                        let holder = Holder::LockFile(path);
                        return Err(StoreError::Busy { what, holder, waited: waiting.so_far() });
                    }
                }
                Err(error) => return Err(disk("make", &path)(error)),
            }
        }
    }
}

/// A journal whose reference is about to be moved.
struct Ready<'m> {
    file: LockFile,
    next: &'m Move,
    _lock: WriterLock,
}

/// Removed again when dropped, unless it has become the reference.
struct LockFile {
    path: PathBuf,
    file: File,
    renamed: bool,
}

impl LockFile {
    fn write(&mut self, id: &CommitId) -> std::io::Result<()> {
        self.file.write_all(format!("{id}\n").as_bytes())
    }
}

impl Drop for LockFile {
    fn drop(&mut self) {
        if !self.renamed {
            let _ = fs::remove_file(&self.path);
        }
    }
}

fn disk(doing: &'static str, path: &std::path::Path) -> impl FnOnce(std::io::Error) -> StoreError + use<> {
    let path = path.to_owned();
    move |source| StoreError::Disk { doing, path, source }
}
