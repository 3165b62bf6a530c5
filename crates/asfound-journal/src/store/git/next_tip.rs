//! Moves the tip of a journal: its reference is written and synced beside the repository, and only named in it.
//!
//! Git has whoever moves a reference make a lock file beside it, write that and rename it (`gitrepository-layout(5)`). A program
//! that is killed meanwhile leaves a lock that nobody knows the owner of. So the file is written among our own locks first, together
//! with the objects, and becomes the lock by a hard link: the lock is there for an instant, is never half written, and one that was left
//! behind all the same is known as ours by being that very file.

use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use asfound_core::names::Tag;
use git2::Oid;

use super::lock_timeouts::LockWait;
use super::pending::sync_content;
use super::stale::StaleLock;
use super::tip::{BRANCHES, branch, moved};
use super::{GitStore, read};
use crate::durable;
use crate::store::error::disk;
use crate::store::{Holder, StoreError};

/// What a journal's reference is to say next. To be made, and made use of, with our own lock on the journal held.
pub(super) struct NextTip<'s> {
    store: &'s GitStore,
    tag: Tag,
    id: Oid,
    part: PathBuf,
    file: File,
}

impl<'s> NextTip<'s> {
    /// Writes the file, which has to be synced yet.
    pub(super) fn write(store: &'s GitStore, tag: &Tag, id: Oid) -> Result<Self, StoreError> {
        // No tag has a full stop in it.
        let part = store.locks.join(format!("{tag}.next"));
        // It may be the journal's reference by another name, which is not to be written into.
        remove_left(&part, &lock_path(store, tag))?;
        let file = OpenOptions::new().write(true).create_new(true).open(&part).map_err(disk("make", &part))?;
        let next = Self { store, tag: tag.clone(), id, part, file };
        (&next.file).write_all(format!("{id}\n").as_bytes()).map_err(disk("write", &next.part))?;
        Ok(next)
    }

    /// What is to be synced before anything else is done with it.
    pub(super) fn content(&self) -> (&Path, &File) {
        (&self.part, &self.file)
    }

    /// Moves the tip from `before`. The name is not synced yet: see [`settle`].
    ///
    /// What others do for a moment is waited for.
    pub(super) fn put(&self, before: Option<Oid>, waiting: &mut LockWait) -> Result<(), StoreError> {
        let (path, folder) = (lock_path(self.store, &self.tag), folder(self.store));
        let to = folder.join(self.tag.as_str());
        let mut stale = StaleLock::new(path.clone(), self.store.timeouts.stale);
        loop {
            self.store.remove_if_stale(&mut stale)?;
            let failed = match self.lock(&path) {
                Ok(mut lock) => {
                    // Looked at once nobody can move it any more.
                    let found = branch(&self.store.repository.get(), &self.tag)?;
                    if found != before {
                        return Err(moved(&self.tag, before, found));
                    }
                    match fs::rename(&path, &to) {
                        Ok(()) => {
                            lock.is_there = false;
                            return Ok(());
                        }
                        // Somebody took the lock for one that was left behind, and may have made another.
                        Err(error) if error.kind() == ErrorKind::NotFound => {
                            lock.is_there = false;
                            error
                        }
                        Err(error) => return Err(disk("name", &to)(error)),
                    }
                }
                Err(error) if error.kind() == ErrorKind::AlreadyExists => error,
                // Packing of references can remove the folder.
                Err(error) if error.kind() == ErrorKind::NotFound => {
                    durable::make_folder(&folder).map_err(disk("make the folder", &folder))?;
                    error
                }
                Err(error) => return Err(disk("make", &path)(error)),
            };
            if !waiting.pause() {
                return Err(if path.exists() {
                    let what = format!("the journal of `{}`", self.tag);
                    StoreError::Busy { what, holder: Holder::LockFile(path), waited: waiting.so_far() }
                } else {
                    disk("make", &path)(failed)
                });
            }
        }
    }

    /// Makes the lock file, with what the reference is to say in it.
    fn lock<'p>(&self, path: &'p Path) -> io::Result<LockFile<'p>> {
        match fs::hard_link(&self.part, path) {
            Ok(()) => return Ok(LockFile { path, is_there: true }),
            Err(error) if [ErrorKind::AlreadyExists, ErrorKind::StorageFull].contains(&error.kind()) => {
                return Err(error);
            }
            // Not every file system has hard links; on one that has, making the file fails for the same reason.
            Err(_) => {}
        }
        let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
        let lock = LockFile { path, is_there: true };
        file.write_all(format!("{}\n", self.id).as_bytes())?;
        file.sync_all()?;
        Ok(lock)
    }
}

impl Drop for NextTip<'_> {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.part);
    }
}

/// Waits until references that were put last, and looks whether they are there.
pub(super) fn settle<'t>(store: &GitStore, put: impl IntoIterator<Item = (&'t Tag, Oid)>) -> Result<(), StoreError> {
    let folder = folder(store);
    durable::sync_folder(&folder).map_err(disk("sync", &folder))?;
    for (tag, id) in put {
        let found = branch(&store.repository.get(), tag)?;
        if found != Some(id) {
            let (tag, found) = (tag.clone(), found.map(read::commit_id));
            return Err(StoreError::NotFiled { tag, commit: read::commit_id(id), found });
        }
        store.remember(tag, &read::commit_id(id));
    }
    Ok(())
}

/// Moves the tip of a journal that nothing else is written for. To be called with our own lock held.
pub(super) fn advance(
    store: &GitStore,
    tag: &Tag,
    before: Option<Oid>,
    new: Oid,
    waiting: &mut LockWait,
) -> Result<(), StoreError> {
    let next = NextTip::write(store, tag, new)?;
    sync_content(&next.content())?;
    next.put(before, waiting)?;
    settle(store, [(tag, new)])
}

fn folder(store: &GitStore) -> PathBuf {
    store.repository.path().join(BRANCHES)
}

fn lock_path(store: &GitStore, tag: &Tag) -> PathBuf {
    folder(store).join(format!("{tag}.lock"))
}

/// The lock file of a reference, which is removed again unless it has become the reference.
struct LockFile<'p> {
    path: &'p Path,
    is_there: bool,
}

impl Drop for LockFile<'_> {
    fn drop(&mut self) {
        if self.is_there {
            let _ = fs::remove_file(self.path);
        }
    }
}

/// Removes what was left by a program of ours that was killed: since our own lock is held, it is gone.
fn remove_left(part: &Path, lock: &Path) -> Result<(), StoreError> {
    let left = match fs::symlink_metadata(part) {
        Ok(left) => left,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(disk("look at", part)(error)),
    };
    if fs::symlink_metadata(lock).is_ok_and(|lock| is_same(&left, &lock)) {
        fs::remove_file(lock).map_err(disk("remove the stale lock", lock))?;
    }
    fs::remove_file(part).map_err(disk("remove the unfinished", part))
}

#[cfg(unix)]
fn is_same(one: &Metadata, other: &Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    (one.dev(), one.ino()) == (other.dev(), other.ino())
}

/// Elsewhere a lock that was left is known by its age alone.
#[cfg(not(unix))]
fn is_same(_: &Metadata, _: &Metadata) -> bool {
    false
}

#[cfg(unix)]
#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::super::LockTimeouts;
    use super::super::lock::WriterLock;
    use super::*;
    use crate::store::{Author, FileContent, NewCommit, Store};

    /// A store that gives up at once, and takes no lock for one that was left because of its age.
    fn store(place: &Path) -> GitStore {
        let timeouts = LockTimeouts { limit: Duration::ZERO, stale: Duration::from_secs(3600) };
        GitStore::create(&place.join("journals.git"), &place.join("locks"), timeouts).unwrap()
    }

    fn append(store: &GitStore, tag: &Tag, message: &str) -> Result<Oid, StoreError> {
        let files = [("a".parse().unwrap(), FileContent::New(message.as_bytes().to_vec()))].into();
        let author = Author::new("Edda Brandt", "edda@workshop.example").unwrap();
        let when = time::macros::datetime!(2027-01-01 09:00 UTC);
        let new = NewCommit { author, when, message: message.to_owned(), files };
        store.append(tag, store.tip(tag).unwrap().as_ref(), &new).map(|id| read::oid(id.as_str()))
    }

    /// What a program that is killed before it has moved the tip leaves behind.
    fn left(store: &GitStore, tag: &Tag, id: Oid) -> PathBuf {
        let path = lock_path(store, tag);
        let next = NextTip::write(store, tag, id).unwrap();
        std::mem::forget(next.lock(&path).unwrap());
        std::mem::forget(next);
        path
    }

    #[test]
    fn a_lock_that_a_killed_program_of_ours_left_is_not_waited_for() {
        let place = tempfile::tempdir().unwrap();
        let (store, wren) = (store(place.path()), "wren".parse().unwrap());
        let first = append(&store, &wren, "first").unwrap();
        let path = left(&store, &wren, first);
        assert!(path.exists());
        append(&store, &wren, "second").unwrap();
        assert_eq!(store.line(&wren).unwrap().len(), 2);
        assert!(
            !path.exists()
                && fs::read_dir(&store.locks).unwrap().all(|entry| entry.unwrap().path().extension().is_none())
        );
    }

    #[test]
    fn a_lock_of_somebody_elses_stays_whatever_else_was_left() {
        let place = tempfile::tempdir().unwrap();
        let (store, wren) = (store(place.path()), "wren".parse().unwrap());
        let first = append(&store, &wren, "first").unwrap();
        let path = left(&store, &wren, first);
        fs::remove_file(&path).unwrap();
        fs::write(&path, "").unwrap();
        assert!(matches!(append(&store, &wren, "second"), Err(StoreError::Busy { .. })));
        assert!(path.exists());
        assert_eq!(store.line(&wren).unwrap().len(), 1);
    }

    #[test]
    fn a_reference_that_has_a_second_name_yet_is_not_written_into() {
        let place = tempfile::tempdir().unwrap();
        let (store, wren) = (store(place.path()), "wren".parse().unwrap());
        let first = append(&store, &wren, "first").unwrap();
        // Killed once the tip had moved: the name among the locks is there still.
        let (reference, part) = (folder(&store).join("wren"), store.locks.join("wren.next"));
        fs::hard_link(&reference, &part).unwrap();
        let next = NextTip::write(&store, &wren, Oid::ZERO_SHA1).unwrap();
        assert_eq!(fs::read_to_string(&reference).unwrap(), format!("{first}\n"));
        drop(next);
        append(&store, &wren, "second").unwrap();
        assert_eq!(store.line(&wren).unwrap().len(), 2);
    }

    #[test]
    fn a_tip_that_is_not_where_it_was_expected_is_left_there() {
        let place = tempfile::tempdir().unwrap();
        let (store, wren) = (store(place.path()), "wren".parse().unwrap());
        let first = append(&store, &wren, "first").unwrap();
        let second = append(&store, &wren, "second").unwrap();
        let mut waiting = LockWait::start(store.timeouts);
        let _lock = WriterLock::take(&store.locks, "wren", "the journal", &mut waiting).unwrap();
        for expected in [None, Some(first)] {
            let moved = advance(&store, &wren, expected, first, &mut waiting);
            assert!(matches!(moved, Err(StoreError::Moved { .. })), "{moved:?}");
            assert_eq!(branch(&store.repository.get(), &wren).unwrap(), Some(second));
            assert!(!lock_path(&store, &wren).exists());
        }
        // One that has been packed has no file of its own.
        store.tidy(&mut |_| {}).unwrap();
        assert!(!folder(&store).join("wren").exists());
        advance(&store, &wren, Some(second), first, &mut waiting).unwrap();
        assert_eq!(branch(&store.repository.get(), &wren).unwrap(), Some(first));
    }
}
