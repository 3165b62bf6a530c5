//! The loose objects there are.

use std::collections::{HashMap, HashSet};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use git2::{ObjectType, Oid};

use super::super::{tree_text, zlib};
use crate::garage_file;
use crate::store::StoreError;

/// The ids of the loose objects that begin with this byte.
pub(super) fn names_in(objects: &Path, first: u8) -> Result<Vec<Oid>, StoreError> {
    let digits = format!("{first:02x}");
    let folder = objects.join(&digits);
    let disk = |source| StoreError::Disk { doing: "list", path: folder.clone(), source };
    let entries = match fs::read_dir(&folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(disk(error)),
    };
    let mut ids = Vec::new();
    for entry in entries {
        let name = entry.map_err(disk)?.file_name();
        let id = name.to_str().filter(|rest| rest.len() == 38).map(|rest| Oid::from_str(&format!("{digits}{rest}")));
        ids.extend(id.and_then(Result::ok));
    }
    ids.sort();
    Ok(ids)
}

/// Sound objects, with the name that a folder gives them, so that versions of one file lie beside each other in the pack.
#[derive(Default)]
pub(super) struct NamedObject {
    pub(super) objects: Vec<(Oid, ObjectType)>,
    pub(super) names: HashMap<Oid, String>,
    known: HashSet<Oid>,
}

impl NamedObject {
    /// Takes in a loose object; false where it is damaged, or is gone.
    pub(super) fn take(&mut self, objects: &Path, id: Oid) -> Result<bool, StoreError> {
        let path = file(objects, id);
        let compressed = match garage_file::read_at_most(&path, u64::MAX) {
            Ok(compressed) => compressed,
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(true),
            Err(source) => return Err(StoreError::Disk { doing: "read the object", path, source }),
        };
        let Some((kind, content)) = sound(&compressed, id) else { return Ok(false) };
        self.add(id, kind, &content);
        Ok(true)
    }

    /// Takes in an object.
    pub(super) fn add(&mut self, id: Oid, kind: ObjectType, content: &[u8]) {
        if !self.known.insert(id) {
            return;
        }
        self.objects.push((id, kind));
        if kind == ObjectType::Tree
            && let Ok(lines) = tree_text::parse(content)
        {
            self.names.extend(lines.into_iter().map(|line| (line.id(), line.name)));
        }
    }
}

/// What a loose object is and holds, where it is what its id says.
fn sound(compressed: &[u8], id: Oid) -> Option<(ObjectType, Vec<u8>)> {
    let mut content = zlib::inflated(compressed)?;
    let nul = content.iter().position(|&byte| byte == 0)?;
    let (kind, length) = std::str::from_utf8(&content[..nul]).ok()?.split_once(' ')?;
    let (kind, length) = (ObjectType::from_str(kind)?, length.parse::<usize>().ok()?);
    content.drain(..=nul);
    let whole = content.len() == length && Oid::hash_object(kind, &content).ok()? == id;
    whole.then_some((kind, content))
}

/// Removes the file of a loose object, which lies in a pack.
pub(super) fn remove(objects: &Path, id: Oid) -> Result<(), StoreError> {
    let path = file(objects, id);
    garage_file::check_folder(path.parent().unwrap_or(objects)).map_err(|source| StoreError::Disk {
        doing: "remove the packed",
        path: path.clone(),
        source,
    })?;
    match fs::remove_file(&path) {
        Err(source) if source.kind() != ErrorKind::NotFound => {
            Err(StoreError::Disk { doing: "remove the packed", path, source })
        }
        _ => Ok(()),
    }
}

/// Where the file of a loose object is.
pub(in super::super) fn file(objects: &Path, id: Oid) -> PathBuf {
    let digits = id.to_string();
    objects.join(&digits[..2]).join(&digits[2..])
}
