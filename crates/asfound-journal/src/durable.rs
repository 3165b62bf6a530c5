//! Folders and files that are still there after a power cut.
//!
//! A file survives once its contents and the folder that names it are both synced.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::panic::resume_unwind;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::{PoisonError, RwLock, mpsc};
use std::thread;

use crate::garage_file;

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
        Err(error) if error.kind() == ErrorKind::AlreadyExists => garage_file::check_folder(path),
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
    in_two_steps((all, work), || Ok(()), (&[(); 0], |()| Ok(())))
}

/// Does one thing with all of some, then something else, then one thing with all of others, by the same threads: to start them
/// takes a good part of what a disk takes. What comes later is left undone where something fails.
pub(crate) fn in_two_steps<A: Sync, B: Sync, E: Send>(
    (first, do_first): (&[A], impl Fn(&A) -> Result<(), E> + Sync),
    between: impl FnOnce() -> Result<(), E>,
    (second, do_second): (&[B], impl Fn(&B) -> Result<(), E> + Sync),
) -> Result<(), E> {
    let (next_first, next_second) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let go_through_first = || go_through(first, &next_first, &do_first);
    let go_through_second = || go_through(second, &next_second, &do_second);
    // Whether to go on, which nobody can read before it is decided.
    let goes_on = RwLock::new(false);
    let mut decision = goes_on.write().unwrap_or_else(PoisonError::into_inner);
    let help = &|tell: mpsc::Sender<Result<(), E>>| {
        // Nobody is there to be told only when that one panics.
        let _ = tell.send(go_through_first());
        drop(tell);
        let goes_on = *goes_on.read().unwrap_or_else(PoisonError::into_inner);
        if goes_on { go_through_second() } else { Ok(()) }
    };
    thread::scope(|scope| {
        let (tell, told) = mpsc::channel();
        let others = 1..first.len().max(second.len()).min(AT_ONCE);
        let others: Vec<_> = others
            .filter_map(|_| {
                let tell = tell.clone();
                thread::Builder::new().spawn_scoped(scope, move || help(tell)).ok()
            })
            .collect();
        drop(tell);
        let here = go_through_first();
        // One that panics tells nothing, and its panic is handed on below.
        let told: Vec<_> = told.into_iter().collect();
        let has_panicked = told.len() < others.len();
        let mut done = told.into_iter().fold(here, Result::and);
        if done.is_ok() && !has_panicked {
            done = between();
            *decision = done.is_ok();
        }
        let goes_on = *decision;
        drop(decision);
        if goes_on {
            done = go_through_second();
        }
        let joined = |other: thread::ScopedJoinHandle<'_, _>| other.join().unwrap_or_else(|panic| resume_unwind(panic));
        others.into_iter().map(joined).fold(done, Result::and)
    })
}

/// Takes one after the other of those that nobody else has taken, until one fails.
fn go_through<T, E>(all: &[T], next: &AtomicUsize, work: impl Fn(&T) -> Result<(), E>) -> Result<(), E> {
    while let Some(one) = all.get(next.fetch_add(1, Ordering::Relaxed)) {
        work(one)?;
    }
    Ok(())
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
    use std::sync::Mutex;

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
    fn the_second_step_begins_when_the_first_is_done_and_only_if_nothing_failed() {
        for (first, second) in [(0, 0), (1, 0), (0, 3), (1, 1), (5, 40), (40, 5), (100, 100)] {
            let (ones, twos): (Vec<u32>, Vec<u32>) = ((0..first).collect(), (0..second).collect());
            // One of the first, of the second or the step between fails, or nothing does.
            for failing in [None, Some((0, first / 2)), Some((1, 0)), Some((2, second / 2))] {
                let log = Mutex::new(Vec::new());
                let work = |step: u32, one: u32| {
                    log.lock().unwrap().push(step);
                    if failing == Some((step, one)) { Err((step, one)) } else { Ok(()) }
                };
                let done = in_two_steps((&ones, |one| work(0, *one)), || work(1, 0), (&twos, |one| work(2, *one)));
                let happens = failing.filter(|failing| match failing.0 {
                    0 => first > 0,
                    1 => true,
                    _ => second > 0,
                });
                assert_eq!(done.err(), happens, "{first} and {second}");
                let log = log.into_inner().unwrap();
                assert!(log.is_sorted(), "{log:?}");
                let times = |step| log.iter().filter(|done| **done == step).count();
                let (all, all_later) = (ones.len(), twos.len());
                match happens.map(|failing| failing.0) {
                    None => assert_eq!([times(0), times(1), times(2)], [all, 1, all_later]),
                    Some(0) => assert_eq!([times(1), times(2)], [0, 0]),
                    Some(1) => assert_eq!([times(0), times(1), times(2)], [all, 1, 0]),
                    Some(_) => assert_eq!([times(0), times(1)], [all, 1]),
                }
            }
        }
    }

    #[test]
    fn a_panic_in_either_step_is_handed_on_and_nobody_waits_for_ever() {
        for failing in [0, 1, 2] {
            let work = |step: u32, one: &u32| -> Result<(), ()> {
                if step == failing && *one == 7 { panic!("so it is") } else { Ok(()) }
            };
            let ones: Vec<u32> = (0..30).collect();
            let run = || in_two_steps((&ones, |one| work(0, one)), || work(1, &7), (&ones, |one| work(2, one)));
            assert!(std::panic::catch_unwind(run).is_err(), "step {failing}");
        }
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
