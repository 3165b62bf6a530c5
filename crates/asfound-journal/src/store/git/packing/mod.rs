//! Packs loose objects and references, little by little and beside whoever reads and writes.
//!
//! Nothing is ever taken away that is not there in another form: a loose object goes once a pack that lasts was read back
//! and gave it to the letter, a pack goes once all that it holds is in another, the file of a reference once the packed list
//! has the same. Whether an entry reaches an object is not even asked, so that none that one reaches can be overlooked,
//! nor one that a program is just about to name.

mod loose_ones;
mod merge;
mod pack;
mod references;

pub(super) use loose_ones::file;

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use git2::Oid;

use super::GitStore;
use super::lock_timeouts::{LockTimeouts, LockWait};
use super::pending::PendingObjects;
use crate::store::StoreError;

/// How many loose objects in one of the 256 folders tell that packing pays: some 6,000 in all.
const PAYS: usize = 24;
/// How many objects go into one pack in passing, and on request.
const SMALL_PORTION: usize = 2_048;
const LARGE_PORTION: usize = 50_000;
/// How many loose journals' references are left in passing.
const REFERENCES_PAY: usize = 256;

/// How far tidying is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PackProgress {
    /// Objects that were packed.
    pub packed: usize,
    /// All that are to be.
    pub total: usize,
}

/// What tidying came to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct PackOutcome {
    /// Loose objects that lie in packs now.
    pub objects: usize,
    /// Packs that were put together to larger ones.
    pub merged: usize,
    /// References that lie in the packed list now.
    pub references: usize,
    /// Loose objects that were left as they are because they are damaged.
    pub damaged: usize,
    /// The bytes in the repository before and after.
    pub bytes: (u64, u64),
}

impl GitStore {
    /// Packs everything that is loose, and puts small packs together. Others may read and write meanwhile.
    ///
    /// # Errors
    /// When somebody else is tidying, or the disk refuses. Nothing is lost then.
    pub fn tidy(&self, progress: &mut dyn FnMut(PackProgress)) -> Result<PackOutcome, StoreError> {
        let mut waiting = LockWait::start(self.timeouts);
        let lock = self.writer_lock("_tidy", "the garage", &mut waiting)?;
        let before = size(self.repository.path())?;
        let mut tidied = self.pack_portion(0, usize::MAX, LARGE_PORTION, progress)?;
        tidied.merged = merge::merge(self, usize::MAX)?;
        tidied.references = references::pack(self, &lock, &mut waiting)?;
        tidied.bytes = (before, size(self.repository.path())?);
        Ok(tidied)
    }

    /// After an entry was filed: packs a portion where that pays, and nobody else does so.
    ///
    /// One folder is listed to find out, that of the commit's id. Whatever goes wrong is no matter of the entry, which is filed.
    pub(super) fn tidy_in_passing(&self, filed: Oid) {
        let first = filed.as_bytes()[0];
        let many = loose_ones::names_in(&self.objects_folder(), first).is_ok_and(|names| names.len() >= PAYS);
        if !many {
            return;
        }
        let mut waiting = LockWait::start(LockTimeouts { limit: std::time::Duration::ZERO, ..self.timeouts });
        let Ok(lock) = self.writer_lock("_tidy", "the garage", &mut waiting) else { return };
        let packed = self.pack_portion(first, SMALL_PORTION, SMALL_PORTION, &mut |_| {});
        let merged = packed.and_then(|_| merge::merge(self, SMALL_PORTION * merge::TOGETHER));
        let heads = self.repository.path().join("refs/heads");
        if merged.is_ok() && fs::read_dir(heads).is_ok_and(|entries| entries.count() > REFERENCES_PAY) {
            let _ = references::pack(self, &lock, &mut waiting);
        }
    }

    /// Packs loose objects from the folder `first` on, at most `most` of them, `portion` into one pack.
    fn pack_portion(
        &self,
        first: u8,
        most: usize,
        portion: usize,
        progress: &mut dyn FnMut(PackProgress),
    ) -> Result<PackOutcome, StoreError> {
        let (mut tidied, folder) = (PackOutcome::default(), self.objects_folder());
        let mut ids = Vec::new();
        for step in 0..=u8::MAX {
            if ids.len() >= most {
                break;
            }
            ids.extend(loose_ones::names_in(&folder, first.wrapping_add(step))?);
        }
        let total = ids.len();
        for ids in ids.chunks(portion) {
            let mut named = loose_ones::NamedObject::default();
            for id in ids {
                if !named.take(&folder, *id)? {
                    tidied.damaged += 1;
                }
            }
            pack::write(self, &named, &mut |written| {
                progress(PackProgress { packed: tidied.objects + written, total });
            })?;
            for (id, _) in &named.objects {
                loose_ones::remove(&folder, *id)?;
            }
            tidied.objects += named.objects.len();
        }
        Ok(tidied)
    }

    fn objects_folder(&self) -> PathBuf {
        self.repository.path().join("objects")
    }
}

/// Adds what was made as one new pack; when this returns, it lasts.
pub(super) fn add_pack(store: &GitStore, fresh: &PendingObjects) -> Result<(), StoreError> {
    if fresh.is_empty() {
        return Ok(());
    }
    pack::add(store, pack::FILING, |_, made| fresh.write_pack(made)).map(|_| ())
}

/// Adds the pack that `write` writes into a folder; when this returns, it lasts.
pub(super) fn take_pack(
    store: &GitStore,
    mut write: impl FnMut(&Path) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    pack::add(store, pack::FILING, |_, made| write(made)).map(|_| ())
}

/// What a file takes on the disk, where the system tells: small files take a whole block each.
fn taken(data: &fs::Metadata) -> u64 {
    #[cfg(unix)]
    {
        // The system counts in units of 512 bytes (POSIX, sys/stat.h leaves the unit open; this is Linux's and macOS's).
        std::os::unix::fs::MetadataExt::blocks(data) * 512
    }
    #[cfg(not(unix))]
    {
        data.len()
    }
}

/// The bytes of all files below a folder; what goes away meanwhile does not count.
fn size(folder: &Path) -> Result<u64, StoreError> {
    let disk = |source| StoreError::Disk { doing: "list", path: folder.to_owned(), source };
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(0),
        Err(error) => return Err(disk(error)),
    };
    let mut bytes = 0;
    for entry in entries {
        let entry = entry.map_err(disk)?;
        match entry.metadata() {
            Ok(data) if data.is_dir() => bytes += size(&entry.path())?,
            Ok(data) => bytes += taken(&data),
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => return Err(disk(error)),
        }
    }
    Ok(bytes)
}
