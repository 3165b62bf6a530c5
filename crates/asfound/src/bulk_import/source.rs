//! Where readings come from, one after the other.

use std::collections::HashSet;
use std::fmt;
use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

use crate::bounded_file::read_bounded;
use crate::failure::Failure;

/// The largest reading, in bytes.
const LARGEST: u64 = 64 * 1024 * 1024;

/// One reading, not looked into yet.
pub struct FoundReading {
    /// What it is called: its path below the folder, or its line.
    pub name: String,
    /// The file, where it is one.
    pub path: Option<PathBuf>,
    /// Its content, or why it cannot be read.
    pub bytes: Result<Vec<u8>, String>,
}

/// The readings of a folder in the order of their paths, or those of a stream.
pub enum Sources {
    /// The files that are left, the next one last.
    Folder {
        /// The folder.
        root: PathBuf,
        /// The files.
        files: Vec<PathBuf>,
        /// How many there were.
        total: usize,
    },
    /// Lines of JSON, and how many there were.
    Stream(Box<dyn BufRead>, usize),
}

impl Sources {
    /// The readings in a folder and all below, or, for `-`, one reading in JSON from each line of standard input.
    ///
    /// # Errors
    /// When the folder cannot be listed.
    pub fn open(place: &Path) -> Result<Self, Failure> {
        if place.as_os_str() == "-" {
            return Ok(Self::Stream(Box::new(BufReader::new(std::io::stdin())), 0));
        }
        let mut files = Vec::new();
        let mut seen = HashSet::new();
        collect(place, &mut files, &mut seen)
            .map_err(|(path, error)| Failure::usage(format!("{}: {error}", path.display())))?;
        files.sort();
        files.reverse();
        let total = files.len();
        Ok(Self::Folder { root: place.to_owned(), files, total })
    }

    /// How many there are, where that is known.
    pub fn total(&self) -> Option<usize> {
        match self {
            Self::Folder { total, .. } => Some(*total),
            Self::Stream(..) => None,
        }
    }
}

impl fmt::Display for Sources {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder { root, .. } => root.display().fmt(f),
            Self::Stream(..) => f.write_str("standard input"),
        }
    }
}

impl Iterator for Sources {
    type Item = FoundReading;

    fn next(&mut self) -> Option<FoundReading> {
        match self {
            Self::Folder { root, files, .. } => {
                let path = files.pop()?;
                let name = path.strip_prefix(&root).unwrap_or(&path).display().to_string();
                let bytes = read(&path);
                Some(FoundReading { name, path: Some(path), bytes })
            }
            Self::Stream(input, count) => loop {
                let mut line = Vec::new();
                *count += 1;
                let name = format!("line {count}");
                match input.by_ref().take(LARGEST).read_until(b'\n', &mut line) {
                    Ok(0) => return None,
                    Ok(_) if line.trim_ascii().is_empty() => {}
                    Ok(_) => return Some(FoundReading { name, path: None, bytes: Ok(line.trim_ascii().to_vec()) }),
                    Err(error) => return Some(FoundReading { name, path: None, bytes: Err(error.to_string()) }),
                }
            },
        }
    }
}

fn read(path: &Path) -> Result<Vec<u8>, String> {
    read_bounded(path, LARGEST).map_err(|error| error.to_string())
}

/// Every file below a folder whose name does not begin with a dot. Each folder is gone into once, by whatever links it is reached.
fn collect(
    folder: &Path,
    files: &mut Vec<PathBuf>,
    seen: &mut HashSet<PathBuf>,
) -> Result<(), (PathBuf, std::io::Error)> {
    let failed = |error| (folder.to_owned(), error);
    if !seen.insert(folder.canonicalize().map_err(failed)?) {
        return Ok(());
    }
    for entry in fs::read_dir(folder).map_err(failed)? {
        let entry = entry.map_err(failed)?;
        if entry.file_name().as_encoded_bytes().starts_with(b".") {
            continue;
        }
        let path = entry.path();
        if path.is_dir() { collect(&path, files, seen)? } else { files.push(path) }
    }
    Ok(())
}
