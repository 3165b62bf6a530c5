//! Handles on the repository that let go of what they have read.
//!
//! The library keeps the packs that it has read mapped, and up to 256 MB of what it has parsed; whoever reads a long
//! journal to its end would have all of it in memory. A handle that is closed lets everything go, so that one is
//! opened anew after so many reads. A pack is mapped until the last handle of the program that has looked into it is closed.

use std::cell::{Cell, Ref, RefCell};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};

use git2::Repository;

use super::{create, packs, special_files};
use crate::store::StoreError;

/// After how many objects a handle is opened anew.
const MANY: u32 = 2_048;

/// The handle of a store.
pub(super) struct OpenRepository {
    path: PathBuf,
    repository: RefCell<Repository>,
    read: Cell<u32>,
    is_checked: Cell<bool>,
}

impl OpenRepository {
    pub(super) fn open(path: &Path) -> Result<Self, StoreError> {
        special_files::check(path)?;
        let repository = open(path)?;
        special_files::check_own_references(&repository)?;
        let path = repository.path().to_owned();
        Ok(Self { path, repository: RefCell::new(repository), read: Cell::new(0), is_checked: Cell::new(false) })
    }

    /// Where the repository is.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// The handle for whoever reads references, or asks which objects there are, and reads none of them.
    pub(super) fn get(&self) -> Ref<'_, Repository> {
        self.repository.borrow()
    }

    /// The handle for one read of many. Before the first of them, the indexes of the packs are looked through.
    pub(super) fn for_reading(&self) -> Result<Ref<'_, Repository>, StoreError> {
        self.check()?;
        self.read.set(self.read.get() + 1);
        if self.read.get() >= MANY {
            self.let_go();
        }
        Ok(self.get())
    }

    /// Fails where the library could crash on reading an object.
    pub(super) fn check(&self) -> Result<(), StoreError> {
        if !self.is_checked.get() {
            packs::check_indexes(&self.path)?;
            self.is_checked.set(true);
        }
        Ok(())
    }

    /// Lets go of what was read, unless somebody is at it, or it cannot be opened anew.
    pub(super) fn let_go(&self) {
        if let (Ok(mut repository), Ok(anew)) = (self.repository.try_borrow_mut(), open(&self.path)) {
            *repository = anew;
            self.read.set(0);
        }
    }
}

fn open(path: &Path) -> Result<Repository, StoreError> {
    Repository::open_bare(path).map_err(|error| create::cannot_open(path, &error))
}

type Handle = Mutex<Option<Repository>>;

/// Handles with which several threads read the same repository, and which let go together.
#[derive(Default)]
pub(super) struct HandlePool {
    handles: Mutex<Vec<Weak<Handle>>>,
    read: AtomicU32,
}

/// One of the handles of a crowd.
pub(super) struct PooledHandle {
    path: PathBuf,
    handle: Arc<Handle>,
    pool: Arc<HandlePool>,
}

impl PooledHandle {
    pub(super) fn open(path: &Path, pool: &Arc<HandlePool>) -> Result<Self, StoreError> {
        let handle = Arc::new(Mutex::new(Some(open(path)?)));
        let mut handles = lock(&pool.handles);
        handles.retain(|other| other.strong_count() > 0);
        handles.push(Arc::downgrade(&handle));
        Ok(Self { path: path.to_owned(), handle, pool: Arc::clone(pool) })
    }

    /// Reads one object.
    pub(super) fn read<T>(&self, read: impl FnOnce(&Repository) -> Result<T, StoreError>) -> Result<T, StoreError> {
        if self.pool.read.fetch_add(1, Ordering::Relaxed) % MANY == MANY - 1 {
            let handles: Vec<Arc<Handle>> = lock(&self.pool.handles).iter().filter_map(Weak::upgrade).collect();
            // One at a time, and none of our own is held: nobody waits for somebody who waits.
            handles.iter().for_each(|handle| *lock(handle) = None);
        }
        let mut handle = lock(&self.handle);
        let repository = match &mut *handle {
            Some(repository) => repository,
            none => none.insert(open(&self.path)?),
        };
        read(repository)
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with_a_blob() -> (tempfile::TempDir, git2::Oid) {
        let place = tempfile::tempdir().unwrap();
        let id = Repository::init_bare(place.path()).unwrap().blob(b"content").unwrap();
        (place, id)
    }

    #[test]
    fn a_handle_is_opened_anew_unless_somebody_is_at_it() {
        let (place, id) = with_a_blob();
        let opened = OpenRepository::open(place.path()).unwrap();
        for _ in 0..2 * MANY + 5 {
            assert_eq!(opened.for_reading().unwrap().find_blob(id).unwrap().content(), b"content");
        }
        // Counted from nothing each time.
        assert_eq!(opened.read.get(), 5);
        opened.read.set(MANY);
        let at_it = opened.get();
        drop(opened.for_reading().unwrap());
        assert_eq!(opened.read.get(), MANY + 1);
        drop(at_it);
        drop(opened.for_reading().unwrap());
        assert_eq!(opened.read.get(), 0);
    }

    #[test]
    fn a_crowd_lets_go_together_and_reads_on() {
        let (place, id) = with_a_blob();
        let pool = Arc::new(HandlePool::default());
        let (one, other) =
            (PooledHandle::open(place.path(), &pool).unwrap(), PooledHandle::open(place.path(), &pool).unwrap());
        let size =
            |handle: &PooledHandle| handle.read(|repository| Ok(repository.find_blob(id).unwrap().size())).unwrap();
        assert_eq!(size(&other), 7);
        (1..MANY).for_each(|_| assert_eq!(size(&one), 7));
        assert!(lock(&one.handle).is_some() && lock(&other.handle).is_none());
        assert_eq!(size(&other), 7);
        std::thread::scope(|scope| {
            for handle in [one, other] {
                scope.spawn(move || (0..2 * MANY).for_each(|_| assert_eq!(size(&handle), 7)));
            }
        });
    }
}
