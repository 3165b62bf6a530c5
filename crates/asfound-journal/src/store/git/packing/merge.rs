//! Puts small packs together, so that their number grows with the logarithm of what they hold.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use git2::Oid;

use super::super::object_error::refused;
use super::super::{GitStore, packs};
use super::loose_ones::NamedObject;
use super::pack::{files, write};
use crate::store::StoreError;
use crate::store::error::disk;

/// So many packs of about one size are put together.
pub(super) const TOGETHER: usize = 8;
/// A pack with more objects is left as it is: putting it together again would take minutes.
const LARGEST: usize = 200_000;

/// Puts packs together whose objects are at most `most` in all; hands back how many went into others.
pub(super) fn merge(store: &GitStore, most: usize) -> Result<usize, StoreError> {
    let folder = store.objects_folder().join("pack");
    let mut merged = 0;
    // An index over several packs, which another program made, would point at packs that are gone.
    while !folder.join("multi-pack-index").exists() {
        let Some(group) = due(store, most)? else { break };
        let failed = |error: git2::Error| refused("read a pack", &error);
        let repository = store.repository.for_reading()?;
        let database = repository.odb().map_err(failed)?;
        let mut named = NamedObject::default();
        let mut ids: Vec<Oid> = Vec::new();
        for index in &group {
            ids.extend(packs::ids_in(index).map_err(disk("read", index))?);
        }
        ids.sort();
        ids.dedup();
        for id in ids {
            let object = database.read(id).map_err(failed)?;
            named.add(id, object.kind(), object.data());
        }
        let new = write(store, &named, &mut |_| {})?;
        for index in group.iter().filter(|index| Some(*index) != new.as_ref()) {
            remove(index)?;
            merged += 1;
        }
    }
    Ok(merged)
}

/// Packs of about one size, of which there are enough.
fn due(store: &GitStore, most: usize) -> Result<Option<Vec<PathBuf>>, StoreError> {
    let folder = store.objects_folder().join("pack");
    let mut sizes: Vec<Vec<(usize, PathBuf)>> = Vec::new();
    for index in files(&folder)?.into_iter().filter(|path| path.extension().is_some_and(|ending| ending == "idx")) {
        let marked = ["keep", "promisor", "bitmap"].iter().any(|ending| index.with_extension(ending).exists());
        if marked || !index.with_extension("pack").exists() {
            continue;
        }
        let count = packs::count_in(&index).map_err(disk("read", &index))?;
        if count > LARGEST {
            continue;
        }
        // By powers of the number that are put together.
        let tier = (count / 512).max(1).ilog(TOGETHER) as usize;
        if sizes.len() <= tier {
            sizes.resize(tier + 1, Vec::new());
        }
        sizes[tier].push((count, index));
    }
    let enough = |packs: &&Vec<(usize, PathBuf)>| {
        packs.len() >= TOGETHER && packs.iter().map(|(count, _)| count).sum::<usize>() <= most
    };
    Ok(sizes.iter().find(enough).map(|packs| packs.iter().map(|(_, index)| index.clone()).collect()))
}

/// Removes a pack all of whose objects lie in another; the index first, so that nobody looks for a pack that is gone.
fn remove(index: &Path) -> Result<(), StoreError> {
    for ending in ["idx", "rev", "pack"] {
        let path = index.with_extension(ending);
        match fs::remove_file(&path) {
            Err(error) if error.kind() != ErrorKind::NotFound => return Err(disk("remove the packed", &path)(error)),
            _ => {}
        }
    }
    Ok(())
}
