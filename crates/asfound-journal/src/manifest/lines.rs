//! The lines of a manifest.

use std::collections::BTreeMap;
use std::fmt;

use super::MANIFEST_PATH;
use crate::{Digest, FilePath};

/// The digests of the files of an entry, by path.
///
/// Shown (and turned into text) as the lines of `sha256sum`.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Manifest {
    digests: BTreeMap<FilePath, Digest>,
}

impl Manifest {
    /// A manifest of no files.
    pub fn new() -> Self {
        Self::default()
    }

    /// The manifest over `files`, leaving out `manifest` itself.
    pub fn over<'a>(files: impl IntoIterator<Item = (&'a FilePath, &'a [u8])>) -> Self {
        let mut manifest = Self::new();
        for (path, bytes) in files {
            manifest.insert(path.clone(), Digest::of(bytes));
        }
        manifest
    }

    /// States the digest of the file at `path`, in place of an earlier one.
    ///
    /// For files that did not change, the digest of the entry before can be carried over
    /// without reading them. The path `manifest` is left out: a manifest cannot state its own digest.
    pub fn insert(&mut self, path: FilePath, digest: Digest) {
        if path.as_str() != MANIFEST_PATH {
            self.digests.insert(path, digest);
        }
    }

    /// The digest of the file at `path`, where it is listed.
    pub fn get(&self, path: &str) -> Option<&Digest> {
        self.digests.get(path)
    }

    /// Paths and digests, sorted by the bytes of the path.
    pub fn iter(&self) -> impl Iterator<Item = (&FilePath, &Digest)> {
        self.digests.iter()
    }

    /// How many files are listed.
    pub fn len(&self) -> usize {
        self.digests.len()
    }

    /// Whether no file is listed.
    pub fn is_empty(&self) -> bool {
        self.digests.is_empty()
    }
}

impl fmt::Display for Manifest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.digests.iter().try_for_each(|(path, digest)| writeln!(f, "{digest}  {path}"))
    }
}

#[cfg(test)]
mod tests {
    use std::process::Command;

    use super::*;

    fn path(text: &str) -> FilePath {
        text.parse().unwrap()
    }

    fn files() -> BTreeMap<FilePath, &'static [u8]> {
        [
            ("modules/body.toml", b"part_number = \"1\"\n".as_slice()),
            ("entry.toml", b"abc"),
            ("evidence/Bus-1.log", b"\xFF\x00\r\n"),
            ("modules/body-2.toml", b""),
            ("manifest", b"not listed"),
        ]
        .map(|(name, bytes)| (path(name), bytes))
        .into()
    }

    fn of(files: &BTreeMap<FilePath, &'static [u8]>) -> Manifest {
        Manifest::over(files.iter().map(|(path, bytes)| (path, *bytes)))
    }

    #[test]
    fn has_one_sorted_line_a_file_and_leaves_itself_out() {
        let text = of(&files()).to_string();
        let paths: Vec<_> = text.lines().map(|line| &line[66..]).collect();
        assert_eq!(paths, ["entry.toml", "evidence/Bus-1.log", "modules/body-2.toml", "modules/body.toml"]);
        // The digest of "abc": NIST's example for FIPS 180-4.
        assert!(text.starts_with("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  entry.toml\n"));
    }

    /// The program `sha256sum` writes the same text, accepts it, and finds a flipped byte.
    #[test]
    fn sha256sum_writes_the_same_lines_and_accepts_them() {
        let folder = tempfile::tempdir().unwrap();
        let mut files = files();
        files.remove("manifest");
        for (path, bytes) in &files {
            let file = folder.path().join(path.as_str());
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, bytes).unwrap();
        }
        let manifest = of(&files);

        let written = Command::new("sha256sum")
            .args(files.keys().map(FilePath::as_str))
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert_eq!(String::from_utf8(written.stdout).unwrap(), manifest.to_string());

        std::fs::write(folder.path().join(MANIFEST_PATH), manifest.to_string()).unwrap();
        let check = || {
            let mut command = Command::new("sha256sum");
            command.args(["-c", "--strict", "--quiet", MANIFEST_PATH]).current_dir(folder.path()).output().unwrap()
        };
        assert!(check().status.success());
        std::fs::write(folder.path().join("entry.toml"), b"abd").unwrap();
        assert!(!check().status.success());
    }
}
