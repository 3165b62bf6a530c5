//! Our own lock, held while writing.

use std::cell::Cell;
use std::fs::{self, File, TryLockError};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use super::lock_timeouts::LockWait;
use crate::store::error::disk;
use crate::store::{Holder, LOCK, StoreError};
use crate::{durable, garage_file};

/// What stands before the lock file of git's that a holder makes.
const MAKES: &str = "makes ";
/// How long after it said so a holder may still make its lock file: it waits for others no longer than that.
const MADE_WITHIN: Duration = Duration::from_secs(20);
/// No text in a lock comes near this.
const LONGEST: u64 = 1 << 16;

/// A kernel lock on a file in the folder of locks, released when dropped, or by the system when
/// the process dies. The file stays; it says who holds the lock, or held it last.
pub(super) struct WriterLock {
    file: File,
    /// What the holder before said and did not take back: it was killed.
    left: Option<Announcement>,
    /// Whether this holder said anything of the kind.
    announced: Cell<bool>,
}

/// That a holder makes a lock file of git's.
struct Announcement {
    lock: PathBuf,
    /// When that was said.
    at: SystemTime,
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
        Ok(Self { file, left, announced: Cell::new(false) })
    }

    /// Says which lock file of git's is made next, and removes it where a holder before said the same and was killed: one that
    /// ended otherwise took it back. A lock file that is younger than the killed holder can have made is another program's.
    pub(super) fn makes(&self, lock: &Path) -> io::Result<()> {
        if let Some(left) = self.left.as_ref().filter(|left| left.lock == lock) {
            match fs::symlink_metadata(lock).and_then(|found| found.modified()) {
                Ok(made) if made <= left.at + MADE_WITHIN => fs::remove_file(lock)?,
                Err(error) if error.kind() != ErrorKind::NotFound => return Err(error),
                _ => {}
            }
        }
        self.announced.set(true);
        say_whose(&self.file, &format!("{}{MAKES}{}\n", own_text(), lock.display()))
    }
}

impl Drop for WriterLock {
    fn drop(&mut self) {
        if self.announced.get() {
            // Where that cannot be written, a lock file of the next moments may be taken for ours.
            let _ = say_whose(&self.file, &own_text());
        }
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

/// What the text in a lock says of a lock file of git's.
fn announced(file: &File) -> io::Result<Option<Announcement>> {
    let at = file.metadata()?.modified()?;
    let mut text = Vec::new();
    file.take(LONGEST).read_to_end(&mut text)?;
    let text = String::from_utf8_lossy(&text);
    let lock = text.lines().nth(2).and_then(|line| line.strip_prefix(MAKES));
    Ok(lock.map(|lock| Announcement { lock: PathBuf::from(lock), at }))
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

    /// A lock file of git's in a folder of our locks, in both of which `wren` stands for the one that is taken.
    fn beside(folder: &Path) -> PathBuf {
        folder.join("packed-refs.lock")
    }

    fn take(folder: &Path) -> WriterLock {
        WriterLock::take(&folder.join("locks"), "wren", "the journal", &mut waiting()).unwrap()
    }

    #[test]
    fn what_a_killed_holder_left_is_removed() {
        let folder = tempfile::tempdir().unwrap();
        let path = beside(folder.path());
        let killed = take(folder.path());
        killed.makes(&path).unwrap();
        std::fs::write(&path, "").unwrap();
        // It lets go of the kernel's lock and does nothing else, as a process does that is killed.
        killed.file.unlock().unwrap();
        std::mem::forget(killed);
        take(folder.path()).makes(&path).unwrap();
        assert!(!path.exists());
    }

    /// Another program makes a lock file of the same name once we are done: it is alive, and the file is its own.
    #[test]
    fn what_another_program_makes_after_a_holder_that_ended_well_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = beside(folder.path());
        take(folder.path()).makes(&path).unwrap();
        std::fs::write(&path, "git's own").unwrap();
        take(folder.path()).makes(&path).unwrap();
        assert!(path.exists());
    }

    /// Nor is one removed that was made long after the killed holder could have made its own.
    #[test]
    fn what_another_program_makes_long_after_a_killed_holder_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = beside(folder.path());
        let killed = take(folder.path());
        killed.makes(&path).unwrap();
        killed.file.unlock().unwrap();
        std::mem::forget(killed);
        let other = std::fs::File::create(&path).unwrap();
        let made = other.metadata().unwrap().modified().unwrap();
        other.set_modified(made + Duration::from_secs(3600)).unwrap();
        take(folder.path()).makes(&path).unwrap();
        assert!(path.exists());
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
