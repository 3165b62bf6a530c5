//! Every byte of every loose object of a small garage, flipped.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::thread;

use asfound_journal::garage::Garage;

use crate::place::{Place, overwrite};
use crate::sheets::audit_of;
use crate::story::{tag, tell_until};

/// How many share the work.
const THREADS: usize = 4;

fn object_files(place: &Place) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for folder in fs::read_dir(place.repository().join("objects")).unwrap().map(|entry| entry.unwrap().path()) {
        if folder.file_name().unwrap().len() == 2 {
            files.extend(fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()));
        }
    }
    files.sort();
    files
}

/// Whether the audit of the garage as it is on the disk costs trust.
fn is_found(place: &Place) -> bool {
    let garage = Garage::open(&place.path()).unwrap();
    !audit_of(garage.store(), "wren").is_sound()
}

/// The content of an object's file, header included; nothing where it cannot be unpacked.
fn content(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut content = Vec::new();
    flate2::read::ZlibDecoder::new(bytes).read_to_end(&mut content).ok().map(|_| content)
}

/// Flips every byte of a file: all of its bits, which must be found, and one of them, another each time, which must be found
/// unless the object is still the same (the last block of compressed data is filled up with bits that mean nothing).
/// Hands back how many single bits meant nothing.
fn flip_each(place: &Place, file: &Path) -> usize {
    let sound = fs::read(file).unwrap();
    let unpacked = content(&sound).unwrap();
    let mut meaningless = 0;
    for at in 0..sound.len() {
        for bits in [0xFF, 1 << (at % 8)] {
            let mut flipped = sound.clone();
            flipped[at] ^= bits;
            overwrite(file, &flipped);
            if !is_found(place) {
                assert_eq!(content(&flipped).as_ref(), Some(&unpacked), "{} at {at}", file.display());
                assert_ne!(bits, 0xFF, "{} at {at}", file.display());
                meaningless += 1;
            }
        }
    }
    overwrite(file, &sound);
    meaningless
}

/// The garage is made in each thread anew: the same bytes, because the random bits are fixed.
fn garage() -> Place {
    let place = Place::new();
    tell_until(place.garage.store(), &tag("wren"), 3, "the owner wants five");
    place
}

#[test]
fn every_flipped_byte_of_every_object_is_found() {
    let place = garage();
    assert!(!is_found(&place));
    let files = object_files(&place);
    // Each entry: commit, tree, entry.toml, blind, manifest. Once: vehicle.toml, a definition and its folder, trouble codes.
    // Twice: a module and its folder; evidence and two folders for it.
    assert_eq!(files.len(), 3 * 5 + 4 + 2 * 5);
    let part = |first: usize| {
        let place = garage();
        let files = object_files(&place);
        let meaningless: usize = files.iter().skip(first).step_by(THREADS).map(|file| flip_each(&place, file)).sum();
        assert!(!is_found(&place));
        meaningless
    };
    let meaningless: usize = thread::scope(|scope| {
        let parts: Vec<_> = (0..THREADS).map(|first| scope.spawn(move || part(first))).collect();
        parts.into_iter().map(|part| part.join().unwrap()).sum()
    });
    assert!(meaningless <= files.len(), "{meaningless} single bits meant nothing in {} objects", files.len());
}
