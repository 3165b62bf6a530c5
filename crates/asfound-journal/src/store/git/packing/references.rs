//! Packs the references of journals into the one list that git keeps of them, `packed-refs`.

use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::Path;

use super::super::GitStore;
use super::super::lock::WriterLock;
use super::super::lock_timeouts::LockWait;
use super::super::stale::StaleLock;
use crate::durable;
use crate::store::error::disk;
use crate::store::{Holder, StoreError};

const HEAD: &str = "# pack-refs with: peeled fully-peeled sorted \n";

/// Packs the references of journals and of kept lines; hands back how many files went into the list.
///
/// The list is replaced first and the files go afterwards, each only while its lock is held and it still says what the list
/// says: whoever looks finds a reference in one of the two at any moment, never an older one.
pub(super) fn pack(store: &GitStore, own: &WriterLock, waiting: &mut LockWait) -> Result<usize, StoreError> {
    let root = store.repository.path();
    let mut loose = BTreeMap::new();
    for below in ["refs/heads", "refs/kept"] {
        collect(root, below, &mut loose)?;
    }
    if loose.is_empty() {
        return Ok(0);
    }
    let list = root.join("packed-refs");
    let path = root.join("packed-refs.lock");
    own.makes(&path).map_err(disk("write the lock", &path))?;
    let mut lock = take_lock(store, &path, waiting)?;
    let written = match listed(&list) {
        Ok(Some(mut packed)) => {
            // What the files say counts; read again, now that nobody replaces the list.
            for (name, id) in &mut loose {
                if let Some(now) = value(&root.join(name))? {
                    *id = now;
                    packed.insert(name.clone(), (id.clone(), None));
                }
            }
            let text = text_of(&packed);
            let to = &list;
            lock.write_all(text.as_bytes())
                .and_then(|()| lock.sync_all())
                .and_then(|()| fs::rename(root.join("packed-refs.lock"), to))
                .and_then(|()| durable::sync_folder(root))
                .map(|()| true)
                .map_err(disk("write", to))
        }
        other => other.map(|_| false),
    };
    if !matches!(written, Ok(true)) {
        // The first error is the one to tell.
        let _ = fs::remove_file(root.join("packed-refs.lock"));
        return written.map(|_| 0);
    }
    let mut packed = 0;
    for (name, id) in &loose {
        packed += usize::from(remove(root, name, id)?);
    }
    Ok(packed)
}

fn take_lock(store: &GitStore, path: &Path, waiting: &mut LockWait) -> Result<File, StoreError> {
    let mut stale = StaleLock::new(path.to_owned(), store.timeouts.stale);
    loop {
        match OpenOptions::new().write(true).create_new(true).open(path) {
            Ok(file) => return Ok(file),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {
                store.remove_if_stale(&mut stale)?;
                if !waiting.pause() {
                    let what = "the list of packed references".to_owned();
                    let holder = Holder::LockFile(path.to_owned());
                    return Err(StoreError::Busy { what, holder, waited: waiting.so_far() });
                }
            }
            Err(error) => return Err(disk("make", path)(error)),
        }
    }
}

/// The files of references below a folder, by name.
fn collect(root: &Path, below: &str, found: &mut BTreeMap<String, String>) -> Result<(), StoreError> {
    let folder = root.join(below);
    let entries = match fs::read_dir(&folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(disk("list", &folder)(error)),
    };
    for entry in entries {
        let entry = entry.map_err(disk("list", &folder))?;
        let Some(name) = entry.file_name().to_str().map(|name| format!("{below}/{name}")) else { continue };
        let kind = entry.file_type().map_err(disk("look at", &entry.path()))?;
        // What a link leads to is not packed, and not removed.
        if kind.is_dir() {
            collect(root, &name, found)?;
        } else if kind.is_file()
            && entry.path().extension().is_none_or(|ending| ending != "lock")
            && let Some(id) = value(&entry.path())?
        {
            found.insert(name, id);
        }
    }
    Ok(())
}

/// The id in the file of a reference; nothing where it is none, or there is no file.
fn value(path: &Path) -> Result<Option<String>, StoreError> {
    match fs::read_to_string(path) {
        Ok(text) => {
            let id = text.strip_suffix('\n').unwrap_or(&text);
            let whole = id.len() == 40 && id.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
            Ok(whole.then(|| id.to_owned()))
        }
        Err(error) if [ErrorKind::NotFound, ErrorKind::InvalidData].contains(&error.kind()) => Ok(None),
        Err(error) => Err(disk("read", path)(error)),
    }
}

/// Name, id, and for a tag object what it points at.
type ListedReference = BTreeMap<String, (String, Option<String>)>;

/// What the list holds; nothing where it is of a form that this does not write anew.
fn listed(path: &Path) -> Result<Option<ListedReference>, StoreError> {
    let text = match fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Some(ListedReference::new())),
        Err(error) => return Err(disk("read", path)(error)),
    };
    let mut packed = ListedReference::new();
    let mut last: Option<String> = None;
    for line in text.lines() {
        if let Some(marks) = line.strip_prefix('#') {
            if !marks.contains("fully-peeled") {
                return Ok(None);
            }
        } else if let Some(peeled) = line.strip_prefix('^') {
            let Some(entry) = last.as_ref().and_then(|name| packed.get_mut(name)) else { return Ok(None) };
            entry.1 = Some(peeled.to_owned());
        } else {
            let Some((id, name)) = line.split_once(' ') else { return Ok(None) };
            packed.insert(name.to_owned(), (id.to_owned(), None));
            last = Some(name.to_owned());
        }
    }
    Ok(if text.is_empty() || text.starts_with('#') { Some(packed) } else { None })
}

fn text_of(packed: &ListedReference) -> String {
    let mut text = HEAD.to_owned();
    for (name, (id, peeled)) in packed {
        text.push_str(&format!("{id} {name}\n"));
        if let Some(peeled) = peeled {
            text.push_str(&format!("^{peeled}\n"));
        }
    }
    text
}

/// Removes the file of a reference that the list has now; false where it says something else by now, or is being written.
fn remove(root: &Path, name: &str, id: &str) -> Result<bool, StoreError> {
    let (path, lock) = (root.join(name), root.join(format!("{name}.lock")));
    // A kept line's reference is named by its commit and never says anything else.
    let locked = name.starts_with("refs/heads/");
    if locked && OpenOptions::new().write(true).create_new(true).open(&lock).is_err() {
        return Ok(false);
    }
    let removed = match value(&path) {
        Ok(Some(now)) if now == id => match fs::remove_file(&path) {
            Ok(()) => Ok(true),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(false),
            Err(error) => Err(disk("remove the packed", &path)(error)),
        },
        other => other.map(|_| false),
    };
    if locked {
        let _ = fs::remove_file(&lock);
    }
    removed
}
