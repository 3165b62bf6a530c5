//! Every byte of a small repository, flipped or with all after it cut off: what is read is then
//! an error, or what was written; never anything else, and never for ever.

use std::fs;
use std::path::{Path, PathBuf};

use asfound_core::names::Tag;
use asfound_journal::store::{Commit, GitStore, Store, StoreError};

use crate::damage::two_entries;
use crate::support::{PATIENCE, Place};

type Everything = Vec<(Tag, Vec<(Commit, Vec<Vec<u8>>)>)>;

fn read_everything(garage: &Path) -> Result<Everything, StoreError> {
    let store = GitStore::open(&garage.join("journals.git"), &garage.join("locks"), PATIENCE)?;
    let entry = |id: &_| {
        let commit = store.commit(id)?;
        let contents = commit.files.values().map(|blob| store.read(blob)).collect::<Result<_, _>>()?;
        Ok((commit, contents))
    };
    let journal = |tag: Tag| {
        let entries = store.line(&tag)?.iter().map(entry).collect::<Result<_, StoreError>>()?;
        Ok((tag, entries))
    };
    store.tags()?.into_iter().map(journal).collect()
}

/// Damages one file at every byte. `harmless` says how often nothing was noticed.
fn damage_every_byte(place: &Place, file: &Path, written: &Everything) -> usize {
    let sound = fs::read(file).unwrap();
    let mut harmless = 0;
    for at in 0..sound.len() {
        let mut flipped = sound.clone();
        // Another bit each time.
        flipped[at] ^= 1 << (at % 8);
        for damaged in [&flipped[..], &sound[..at]] {
            // Objects are read-only files.
            fs::remove_file(file).unwrap();
            fs::write(file, damaged).unwrap();
            if let Ok(read) = read_everything(&place.path()) {
                assert_eq!(&read, written, "{} at {at}", file.display());
                harmless += 1;
            }
        }
    }
    fs::remove_file(file).unwrap();
    fs::write(file, sound).unwrap();
    harmless
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        if entry.file_type().unwrap().is_dir() {
            files.extend(files_below(&entry.path()));
        } else {
            files.push(entry.path());
        }
    }
    files
}

#[test]
fn loose_objects_and_branches() {
    let (place, ..) = two_entries();
    let written = read_everything(&place.path()).unwrap();
    let objects = files_below(&place.repository().join("objects"));
    // Two commits, two trees each, and two blobs each.
    assert_eq!(objects.len(), 10);
    for file in objects {
        let harmless = damage_every_byte(&place, &file, &written);
        // The two bytes that say how it was compressed can be read another way.
        assert!(harmless <= 4, "{harmless} of the damages to {} were not noticed", file.display());
    }
    // A branch does without its line feed, and with digits in upper case.
    assert!(damage_every_byte(&place, &place.repository().join("refs/heads/wren"), &written) <= 6);
}

#[test]
fn packs() {
    let (place, ..) = two_entries();
    let written = read_everything(&place.path()).unwrap();
    place.git_text(&["gc", "--quiet"]);
    let packed = files_below(&place.repository().join("objects/pack"));
    let damaged: Vec<_> = packed
        .iter()
        .filter_map(|file| file.extension().filter(|kind| *kind == "pack" || *kind == "idx").map(|_| file))
        .collect();
    assert_eq!(damaged.len(), 2);
    for file in damaged {
        damage_every_byte(&place, file, &written);
    }
    assert_eq!(read_everything(&place.path()).unwrap(), written);
}
