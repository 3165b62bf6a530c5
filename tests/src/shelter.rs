//! The folder in which all workshops of this process stand.
//!
//! The process works in it, so that commands name files by short relative paths: lines then wrap at the same
//! place on every machine.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use tempfile::TempDir;

struct Shelter {
    folder: TempDir,
    came_from: PathBuf,
    inside: usize,
}

static SHELTER: Mutex<(Option<Shelter>, usize)> = Mutex::new((None, 0));

/// A folder in the shelter, removed when dropped; the last one takes the shelter along.
pub struct Place {
    name: String,
    path: PathBuf,
}

impl Place {
    pub fn take() -> Self {
        let mut guard = SHELTER.lock().unwrap_or_else(PoisonError::into_inner);
        let (shelter, taken) = &mut *guard;
        *taken += 1;
        let name = format!("w{taken:03}");
        let shelter = shelter.get_or_insert_with(|| {
            let came_from = env::current_dir().expect("the tests start in a folder");
            // In memory where that can be had: everything filed is synced, and no test is about power cuts.
            let in_memory = tempfile::tempdir_in("/dev/shm");
            let folder = in_memory.or_else(|_| tempfile::tempdir()).expect("a temporary folder can be made");
            env::set_current_dir(folder.path()).expect("the folder just made can be entered");
            Shelter { folder, came_from, inside: 0 }
        });
        shelter.inside += 1;
        let path = shelter.folder.path().join(&name);
        fs::create_dir(&path).expect("a folder can be made in the shelter");
        Self { name, path }
    }

    /// The folder's name, which is its path from where the process works.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The folder's full path.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        // Best effort: a folder that stays behind is the system's to clear away.
        let _ = fs::remove_dir_all(&self.path);
        let mut guard = SHELTER.lock().unwrap_or_else(PoisonError::into_inner);
        let Some(shelter) = &mut guard.0 else { return };
        shelter.inside -= 1;
        if shelter.inside == 0 {
            let _ = env::set_current_dir(&shelter.came_from);
            guard.0 = None;
        }
    }
}
