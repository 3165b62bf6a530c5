//! Lock files of git's that a killed process left behind.

use std::fs::{self, Metadata};
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

use super::GitStore;
use crate::store::StoreError;
use crate::store::error::disk;

/// Watches the lock file of one branch, while our own lock on its journal is held.
///
/// No program of ours can have made it then, except one that was killed, and what that made is known by other means. Another
/// program may hold such a lock for as long as a disk that stalls makes it; hence an age of minutes from which a
/// lock file counts as left behind.
pub(super) struct StaleLock {
    path: PathBuf,
    age: Duration,
    /// When the file was last changed, by its own account, and since when it was seen so.
    seen: Option<(SystemTime, Instant)>,
}

impl StaleLock {
    pub(super) fn new(path: PathBuf, age: Duration) -> Self {
        Self { path, age, seen: None }
    }

    /// Removes the lock file if it was left behind; hands back its path if so.
    pub(super) fn remove_if_stale(&mut self) -> Result<Option<&Path>, StoreError> {
        let changed = match fs::metadata(&self.path).and_then(|data: Metadata| data.modified()) {
            Ok(changed) => changed,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                self.seen = None;
                return Ok(None);
            }
            Err(error) => return Err(disk("look at", &self.path)(error)),
        };
        let since = match self.seen {
            Some((then, since)) if then == changed => since,
            _ => Instant::now(),
        };
        self.seen = Some((changed, since));
        // By the file's own date if that is in the past; a clock that was set back would make it
        // look new for ever, so the time it was watched for counts as well.
        let old = changed.elapsed().is_ok_and(|age| age >= self.age) || since.elapsed() >= self.age;
        if !old {
            return Ok(None);
        }
        match fs::remove_file(&self.path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                Err(disk("remove the stale lock", &self.path)(error))
            }
            _ => Ok(Some(&self.path)),
        }
    }
}

impl GitStore {
    /// Removes a lock file that was left behind. Whose it was is not known, so that it is noted and can be said.
    pub(super) fn remove_if_stale(&self, lock: &mut StaleLock) -> Result<(), StoreError> {
        if let Some(path) = lock.remove_if_stale()? {
            self.last_filed.note_removed_lock(path);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use std::fs::File;
    use std::thread;

    use super::*;

    #[test]
    fn a_fresh_lock_stays_and_an_old_one_goes() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("wren.lock");
        let mut lock = StaleLock::new(path.clone(), Duration::from_secs(60));
        lock.remove_if_stale().unwrap();
        let file = File::create(&path).unwrap();
        lock.remove_if_stale().unwrap();
        assert!(path.exists());
        file.set_modified(file.metadata().unwrap().modified().unwrap() - Duration::from_secs(61)).unwrap();
        lock.remove_if_stale().unwrap();
        assert!(!path.exists());
    }

    #[test]
    fn a_lock_dated_in_the_future_goes_once_it_was_watched_long_enough() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("wren.lock");
        let file = File::create(&path).unwrap();
        file.set_modified(file.metadata().unwrap().modified().unwrap() + Duration::from_secs(3600)).unwrap();
        let mut lock = StaleLock::new(path.clone(), Duration::from_millis(30));
        lock.remove_if_stale().unwrap();
        assert!(path.exists());
        thread::sleep(Duration::from_millis(31));
        lock.remove_if_stale().unwrap();
        assert!(!path.exists());
    }
}
