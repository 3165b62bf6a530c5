//! Folders and files that are still there after a power cut.
//!
//! A file survives once its contents and the folder that names it are both synced.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::panic::resume_unwind;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::thread;

/// How many threads wait for the disk.
const AT_ONCE: usize = 8;

/// Waits until the names in a folder are on the disk.
pub(crate) fn sync_folder(path: &Path) -> io::Result<()> {
    // Elsewhere a folder cannot be opened as a file; there the file system orders the names itself.
    if cfg!(unix) { File::open(path)?.sync_all() } else { Ok(()) }
}

/// Makes a folder unless it is there, and syncs the folder above so that its name lasts.
pub(crate) fn make_folder(path: &Path) -> io::Result<()> {
    match fs::create_dir(path) {
        Ok(()) => path.parent().map_or(Ok(()), |above| sync_folder(folder_or_here(above))),
        Err(error) if error.kind() == ErrorKind::AlreadyExists && path.is_dir() => Ok(()),
        Err(error) => Err(error),
    }
}

/// The folder above a relative path of one part is the empty path, which cannot be opened.
fn folder_or_here(path: &Path) -> &Path {
    if path.as_os_str().is_empty() { Path::new(".") } else { path }
}

/// Writes a file so that anyone sees either the old contents or the new, never a part.
///
/// The new contents are written beside it under a name that starts with a dot, synced, and
/// renamed over it.
pub(crate) fn write_file(folder: &Path, name: &str, bytes: &[u8]) -> io::Result<()> {
    let (mut file, beside) = new_file_beside(folder, name)?;
    let written =
        file.write_all(bytes).and_then(|()| file.sync_all()).and_then(|()| fs::rename(&beside, folder.join(name)));
    if let Err(error) = written {
        // The first error is the one to tell; a leftover is harmless.
        let _ = fs::remove_file(&beside);
        return Err(error);
    }
    sync_folder(folder)
}

/// Replaces a file that can be made again at any time: as [`write_file`], but nothing is synced.
pub(crate) fn replace_file(
    folder: &Path,
    name: &str,
    write: impl FnOnce(&mut File) -> io::Result<()>,
) -> io::Result<()> {
    let (mut file, beside) = new_file_beside(folder, name)?;
    let written = write(&mut file).and_then(|()| fs::rename(&beside, folder.join(name)));
    if written.is_err() {
        let _ = fs::remove_file(&beside);
    }
    written
}

/// A new file with a name that no other thread or process uses.
fn new_file_beside(folder: &Path, name: &str) -> io::Result<(File, PathBuf)> {
    static COUNT: AtomicU64 = AtomicU64::new(0);
    loop {
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = folder.join(format!(".{name}.{}-{count}.part", std::process::id()));
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(file) => return Ok((file, path)),
            // Left by a killed process that had the same number.
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
}

/// Does the same with all of them at once, as far as the system has threads for it: the disk is then waited for once rather than
/// once for each. Where several fail, the first error is handed back.
pub(crate) fn all_at_once<T: Sync, E: Send>(all: &[T], work: impl Fn(&T) -> Result<(), E> + Sync) -> Result<(), E> {
    let next = AtomicUsize::new(0);
    let go_through = || {
        let mut done = Ok(());
        while let (Some(one), Ok(())) = (all.get(next.fetch_add(1, Ordering::Relaxed)), &done) {
            done = work(one);
        }
        done
    };
    thread::scope(|scope| {
        let others = 1..all.len().min(AT_ONCE);
        let others: Vec<_> =
            others.filter_map(|_| thread::Builder::new().spawn_scoped(scope, go_through).ok()).collect();
        let here = go_through();
        let joined = |other: thread::ScopedJoinHandle<'_, _>| other.join().unwrap_or_else(|panic| resume_unwind(panic));
        others.into_iter().map(joined).fold(here, Result::and)
    })
}

/// Syncs every file and folder below and including `path`.
pub(crate) fn sync_all_below(path: &Path) -> io::Result<()> {
    for entry in fs::read_dir(path)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            sync_all_below(&entry.path())?;
        } else {
            File::open(entry.path())?.sync_all()?;
        }
    }
    sync_folder(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        write_file(folder.path(), "a.toml", b"one").unwrap();
        write_file(folder.path(), "a.toml", b"two").unwrap();
        assert_eq!(fs::read(folder.path().join("a.toml")).unwrap(), b"two");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_failed_write_leaves_the_old_contents_and_no_part() {
        let folder = tempfile::tempdir().unwrap();
        let taken = folder.path().join("a.toml");
        fs::create_dir(&taken).unwrap();
        assert!(write_file(folder.path(), "a.toml", b"one").is_err());
        assert!(taken.is_dir());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_folder_may_be_there_already_but_not_a_file() {
        let above = tempfile::tempdir().unwrap();
        let folder = above.path().join("f");
        make_folder(&folder).unwrap();
        make_folder(&folder).unwrap();
        fs::write(above.path().join("g"), b"").unwrap();
        assert!(make_folder(&above.path().join("g")).is_err());
        sync_all_below(above.path()).unwrap();
    }
}
