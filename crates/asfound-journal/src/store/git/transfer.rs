//! A repository of our own, through which journals are exchanged with other places.
//!
//! The git program follows the settings and runs the hooks of the repository that it works on, and writes what it fetches into
//! it. So it is never let at the journals themselves: it works on an empty repository beside them, made for one exchange, which sees
//! their objects by git's own `alternates` (`gitrepository-layout(5)`). What was fetched lies there until it has been examined.
//! What is found in order is taken over as one pack; the rest goes with the repository.

use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::extra_refs::KEPT;
use super::lock::WriterLock;
use super::lock_timeouts::{LockTimeouts, LockWait};
use super::object_error::refused;
use super::{GitStore, create, packing, read};
use crate::store::error::disk;
use crate::store::{CommitId, Store, StoreError};

/// Its name in the repository of the journals, where no program looks for one.
pub(super) const NAME: &str = "asfound-share";
/// Where it names the ends of the journals here, so that the other place need not send what is here already.
const HERE: &str = "refs/here/";
const HEAD: &str = "# pack-refs with: peeled fully-peeled sorted \n";

/// A repository for one exchange of journals. Only one is there at a time; it is removed when this is dropped.
pub struct TransferRepository<'s> {
    home: &'s GitStore,
    store: GitStore,
    _lock: WriterLock,
}

impl GitStore {
    /// Makes a repository for an exchange of journals; another exchange of this garage is waited for as long as `wait`.
    ///
    /// # Errors
    /// When another exchange goes on, or the disk refuses.
    pub fn transfer_repository(&self, wait: Duration) -> Result<TransferRepository<'_>, StoreError> {
        let mut waiting = LockWait::start(LockTimeouts { limit: wait, ..self.timeouts });
        let lock = self.writer_lock("_share", "what is shared with other places", &mut waiting)?;
        self.repository.check()?;
        let path = self.repository.path().join(NAME);
        clear(&path)?;
        fs::create_dir(&path).map_err(disk("make the folder", &path))?;
        create::initialise(&path).map_err(|error| refused(&format!("make {}", path.display()), &error))?;
        // Relative to the folder of objects, so that no path has to be written as git wants it.
        let alternates = path.join("objects/info/alternates");
        fs::write(&alternates, "../../objects\n").map_err(disk("write", &alternates))?;
        let store = GitStore::open(&path, &self.locks, self.timeouts)?;
        let this = TransferRepository { home: self, store, _lock: lock };
        this.name_what_is_here()?;
        Ok(this)
    }
}

impl TransferRepository<'_> {
    /// Where it lies.
    pub fn path(&self) -> &Path {
        self.store.repository.path()
    }

    /// What was fetched, with everything that is in the garage behind it. For reading.
    pub fn store(&self) -> &GitStore {
        &self.store
    }

    /// Names the ends of the journals and of the kept lines as they are now.
    ///
    /// # Errors
    /// When they cannot be read, or the list cannot be written.
    pub fn name_what_is_here(&self) -> Result<(), StoreError> {
        let mut named: BTreeMap<String, CommitId> = BTreeMap::new();
        named.extend(self.home.tips()?.into_iter().map(|(tag, tip)| (format!("{HERE}{tag}"), tip)));
        let kept = self.home.references_below(KEPT)?;
        named.extend(kept.into_iter().map(|(name, tip)| (format!("{KEPT}{name}"), tip)));
        let repository = self.home.repository.get();
        let objects = repository.odb().map_err(|error| refused("open the objects", &error))?;
        let mut text = HEAD.to_owned();
        for (name, tip) in named.iter().filter(|(_, tip)| objects.exists(read::oid(tip.as_str()))) {
            text.push_str(&format!("{tip} {name}\n"));
        }
        let list = self.path().join("packed-refs");
        fs::write(&list, text).map_err(disk("write", &list))
    }

    /// Takes lines over into the garage: all that they reach and that is not there yet, as one pack. No journal goes on with them
    /// yet. When this returns, they last.
    ///
    /// # Errors
    /// When something they reach is missing, or the disk refuses.
    pub fn take_over(&self, lines: &[CommitId]) -> Result<(), StoreError> {
        let failed = |error: git2::Error| refused("take over what was fetched", &error);
        let home = self.home.repository.get();
        let here = home.odb().map_err(failed)?;
        let new: Vec<_> = lines.iter().map(|id| read::oid(id.as_str())).filter(|id| !here.exists(*id)).collect();
        if new.is_empty() {
            return Ok(());
        }
        let repository = self.store.repository.for_reading()?;
        let mut walk = repository.revwalk().map_err(failed)?;
        for id in new {
            walk.push(id).map_err(failed)?;
        }
        for tip in self.home.tips()?.into_values().chain(self.home.references_below(KEPT)?.into_values()) {
            let tip = read::oid(tip.as_str());
            if here.exists(tip) {
                walk.hide(tip).map_err(failed)?;
            }
        }
        let mut builder = repository.packbuilder().map_err(failed)?;
        builder.set_threads(0);
        builder.insert_walk(&mut walk).map_err(failed)?;
        let mut waiting = LockWait::start(self.home.timeouts);
        let _lock = self.home.writer_lock("_bulk", "the garage", &mut waiting)?;
        packing::take_pack(self.home, |folder| builder.write(folder, 0o444).map_err(failed))
    }
}

impl Drop for TransferRepository<'_> {
    fn drop(&mut self) {
        // What cannot be removed now is removed by the next exchange.
        let _ = clear(self.path());
    }
}

/// Removes what an exchange left, a link as such.
fn clear(path: &Path) -> Result<(), StoreError> {
    match fs::remove_dir_all(path) {
        Err(error) if error.kind() == ErrorKind::NotADirectory => fs::remove_file(path).map_err(disk("remove", path)),
        Err(error) if error.kind() != ErrorKind::NotFound => Err(disk("remove", path)(error)),
        _ => Ok(()),
    }
}

/// The folders in which a repository may have an object as a file of its own: a repository for an exchange has those of the
/// journals behind its own.
pub(super) fn object_folders(repository: &Path) -> impl Iterator<Item = PathBuf> + '_ {
    let above = repository.parent().filter(|_| repository.file_name().is_some_and(|name| name == NAME));
    [Some(repository), above].into_iter().flatten().map(|path| path.join("objects"))
}
