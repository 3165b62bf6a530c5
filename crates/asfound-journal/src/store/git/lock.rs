//! Our own lock, held while writing.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::Path;

use super::lock_timeouts::LockWait;
use crate::durable;
use crate::store::error::disk;
use crate::store::{Holder, LOCK, StoreError};

/// A kernel lock on a file in the folder of locks, released when dropped, or by the system when
/// the process dies. The file stays; it says who holds the lock, or held it last.
pub(super) struct WriterLock {
    _file: File,
}

impl WriterLock {
    /// Takes the lock `name`, waiting for another writer of `what` until the time is up.
    pub(super) fn take(locks: &Path, name: &str, what: &str, waiting: &mut LockWait) -> Result<Self, StoreError> {
        durable::make_folder(locks).map_err(disk("make the folder", locks))?;
        let path = locks.join(name);
        // Not truncated: until the lock is ours, the text in it is somebody else's.
        let file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(disk("open the lock", &path))?;
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
        say_whose(&file).map_err(disk("write the lock", &path))?;
        Ok(Self { _file: file })
    }
}

/// Writes over what the last holder wrote. It is not emptied first: on ext4 that would have the disk waited for.
fn say_whose(mut file: &File) -> io::Result<()> {
    let text = own_text();
    file.write_all(text.as_bytes())?;
    let length = text.len() as u64;
    if file.metadata()?.len() == length { Ok(()) } else { file.set_len(length) }
}

/// What a holder writes into its lock file.
fn own_text() -> String {
    format!("process {}\nhost {}\n", std::process::id(), gethostname::gethostname().to_string_lossy())
}

/// Who a lock file says holds it.
fn holder(path: &Path) -> Holder {
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
            assert_eq!(holder(&path), Holder::Unknown);
        }
    }
}
