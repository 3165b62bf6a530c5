//! Our own lock, held while writing.

use std::fs::{self, File, TryLockError};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use super::lock_timeouts::LockWait;
use crate::store::error::disk;
use crate::store::{Holder, LOCK, StoreError};
use crate::{durable, garage_file};

/// What stands before the lock file of git's that a holder makes.
const MAKES: &str = "makes ";
/// No text in a lock comes near this.
const LONGEST: u64 = 1 << 16;

/// A kernel lock on a file in the folder of locks, released when dropped, or by the system when
/// the process dies. The file stays; it says who holds the lock, or held it last.
pub(super) struct WriterLock {
    file: File,
    /// The lock file of git's that the holder before said it makes.
    left: Option<PathBuf>,
}

impl WriterLock {
    /// Takes the lock `name`, waiting for another writer of `what` until the time is up.
    pub(super) fn take(locks: &Path, name: &str, what: &str, waiting: &mut LockWait) -> Result<Self, StoreError> {
        durable::make_folder(locks).map_err(disk("make the folder", locks))?;
        let path = locks.join(name);
        // Not truncated: until the lock is ours, the text in it is somebody else's.
        let file = garage_file::open_to_write(&path, true).map_err(disk("open the lock", &path))?;
        loop {
            match file.try_lock() {
                Ok(()) => break,
                Err(TryLockError::WouldBlock) => {
                    if !waiting.pause() {
                        return Err(StoreError::Busy {
                            what: what.to_owned(),
                            holder: holder(&path),
                            waited: waiting.so_far(),
                        });
                    }
                }
                Err(TryLockError::Error(source)) => return Err(disk(LOCK, &path)(source)),
            }
        }
        let left = announced(&file).map_err(disk("read the lock", &path))?;
        say_whose(&file, &own_text()).map_err(disk("write the lock", &path))?;
        Ok(Self { file, left })
    }

    /// Says which lock file of git's is made next, and removes it where the holder before said the same: it was killed before it
    /// could do so itself, or else it would be gone.
    pub(super) fn makes(&self, lock: &Path) -> io::Result<()> {
        if self.left.as_deref() == Some(lock) {
            match fs::remove_file(lock) {
                Err(error) if error.kind() != ErrorKind::NotFound => return Err(error),
                _ => {}
            }
        }
        say_whose(&self.file, &format!("{}{MAKES}{}\n", own_text(), lock.display()))
    }
}

/// Writes over what the last holder wrote. It is not emptied first: on ext4 that would have the disk waited for.
fn say_whose(mut file: &File, text: &str) -> io::Result<()> {
    file.seek(SeekFrom::Start(0))?;
    file.write_all(text.as_bytes())?;
    let length = text.len() as u64;
    if file.metadata()?.len() == length { Ok(()) } else { file.set_len(length) }
}

/// What a holder writes into its lock file.
fn own_text() -> String {
    format!("process {}\nhost {}\n", std::process::id(), gethostname::gethostname().to_string_lossy())
}

/// The lock file of git's that the text in a lock names.
fn announced(file: &File) -> io::Result<Option<PathBuf>> {
    let mut text = Vec::new();
    file.take(LONGEST).read_to_end(&mut text)?;
    let text = String::from_utf8_lossy(&text);
    Ok(text.lines().nth(2).and_then(|line| line.strip_prefix(MAKES)).map(PathBuf::from))
}

/// Who holds a lock: who its file names, unless the system knows better.
fn holder(path: &Path) -> Holder {
    let named = named(path);
    let here = || gethostname::gethostname().to_string_lossy().into_owned();
    match (holder_by_system(path), &named) {
        (Some(pid), Holder::Process { pid: said, host }) if pid != *said && *host == here() => {
            Holder::Process { pid, host: here() }
        }
        (Some(pid), Holder::Unknown) => Holder::Process { pid, host: here() },
        _ => named,
    }
}

/// The process on this machine that holds the kernel's lock on a file, where the system says so (`proc_locks(5)`).
#[cfg(target_os = "linux")]
fn holder_by_system(path: &Path) -> Option<u32> {
    use std::os::unix::fs::MetadataExt;
    let inode = fs::metadata(path).ok()?.ino().to_string();
    let locks = fs::read_to_string("/proc/locks").ok()?;
    let held = |line: &str| {
        let mut words = line.split_whitespace().skip(1);
        // A line with an arrow is one that waits.
        let is_lock = words.next()? == "FLOCK";
        let (pid, place) = (words.nth(2)?, words.next()?);
        (is_lock && place.rsplit(':').next()? == inode).then(|| pid.parse().ok()).flatten()
    };
    locks.lines().find_map(held)
}

#[cfg(not(target_os = "linux"))]
fn holder_by_system(_: &Path) -> Option<u32> {
    None
}

/// Who a lock file says holds it.
fn named(path: &Path) -> Holder {
    let text = std::fs::read_to_string(path).unwrap_or_default();
    let mut lines = text.lines();
    let pid = lines.next().and_then(|line| line.strip_prefix("process ")).and_then(|pid| pid.parse().ok());
    let host = lines.next().and_then(|line| line.strip_prefix("host "));
    match (pid, host) {
        (Some(pid), Some(host)) => Holder::Process { pid, host: host.to_owned() },
        _ => Holder::Unknown,
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::super::LockTimeouts;
    use super::*;

    fn waiting() -> LockWait {
        LockWait::start(LockTimeouts { limit: Duration::from_millis(30), ..LockTimeouts::default() })
    }

    #[test]
    fn a_second_writer_is_told_who_holds_the_lock() {
        let folder = tempfile::tempdir().unwrap();
        let locks = folder.path().join("locks");
        let take = |name: &str| WriterLock::take(&locks, name, &format!("journal {name}"), &mut waiting());
        let held = take("wren").unwrap();
        let Err(StoreError::Busy { what, holder: Holder::Process { pid, .. }, waited }) = take("wren") else {
            panic!("the lock was not reported as held by a process")
        };
        assert_eq!((what.as_str(), pid), ("journal wren", std::process::id()));
        assert!(waited >= Duration::from_millis(30));
        // Another vehicle's journal is not held, and this one is free once it is dropped.
        take("rook").unwrap();
        drop(held);
        take("wren").unwrap();
    }

    #[test]
    fn what_the_last_holder_wrote_is_written_over_whatever_its_length() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("wren");
        for last in ["", "process 1\nhost a\n", &own_text(), &format!("process 1\nhost {}\n", "a".repeat(300))] {
            std::fs::write(&path, last).unwrap();
            WriterLock::take(folder.path(), "wren", "the journal", &mut waiting()).unwrap();
            assert_eq!(std::fs::read_to_string(&path).unwrap(), own_text(), "{last:?}");
        }
    }

    #[test]
    fn a_lock_file_that_says_nothing_names_nobody() {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in [("a", ""), ("b", "process x\nhost y\n"), ("c", "process 12\n")] {
            let path = folder.path().join(name);
            std::fs::write(&path, text).unwrap();
            assert_eq!(named(&path), Holder::Unknown);
        }
    }
}
