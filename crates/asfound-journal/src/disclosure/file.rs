//! The file.

use asfound_core::names::EntryNumber;
use serde::{Deserialize, Serialize};

use crate::entry_files::{Blind, line_hash};
use crate::manifest::Manifest;
use crate::merkle::inclusion_path;
use crate::seal::Seal;
use crate::{Digest, FilePath};

/// The version of the file that this program writes and reads.
pub const DISCLOSURE_FORMAT: &str = "asfound-disclosure/1";

/// Chosen files of chosen entries, with proof that they belong to a seal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Disclosure {
    pub(super) format: String,
    pub(super) seal: Seal,
    pub(super) entries: Vec<DisclosedEntry>,
}

/// What is shown of one entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DisclosedEntry {
    pub(super) number: EntryNumber,
    /// From the entry's leaf to the seal's root.
    pub(super) path: Vec<Digest>,
    /// The hashes of all lines of the manifest, in order.
    pub(super) lines: Vec<Digest>,
    pub(super) files: Vec<DisclosedFile>,
}

/// One file of an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DisclosedFile {
    /// Which line of the manifest it has, from 1.
    pub(super) line: usize,
    #[serde(with = "path_text")]
    pub(super) path: FilePath,
    pub(super) blind: Digest,
    pub(super) content: String,
}

/// One entry and the files that are to be shown of it.
#[derive(Debug, Clone)]
pub(super) struct ShownEntry {
    pub(super) number: EntryNumber,
    pub(super) manifest: Manifest,
    pub(super) blind: Blind,
    /// Paths and contents, in the manifest's order.
    pub(super) files: Vec<(FilePath, String)>,
}

impl Disclosure {
    /// The disclosure of entries of a journal with these leaf hashes; each of them is one of its leaves.
    pub(super) fn of(leaves: &[Digest], shown: &[ShownEntry]) -> Self {
        let entries = shown.iter().map(|entry| DisclosedEntry::of(leaves, entry)).collect();
        Self { format: DISCLOSURE_FORMAT.to_owned(), seal: Seal::over(leaves), entries }
    }

    /// The seal that the entries are proven to belong to.
    pub fn seal(&self) -> &Seal {
        &self.seal
    }

    /// What is shown, by the number of the entry.
    pub fn entries(&self) -> &[DisclosedEntry] {
        &self.entries
    }

    /// The file as text.
    pub fn to_text(&self) -> String {
        let body =
            toml::to_string_pretty(self).expect("a disclosure is made of texts and numbers, which TOML can hold");
        let says = "# Files of a journal of a vehicle's settings, with proof that they belong to its seal. Check it with\n\
                    #   asfound audit THIS-FILE --seal THE-SEAL-YOU-KEPT\n\
                    # or as asfound's docs/seal.md describes.\n";
        format!("{says}{body}")
    }
}

impl DisclosedEntry {
    fn of(leaves: &[Digest], shown: &ShownEntry) -> Self {
        let index = usize::try_from(shown.number.get() - 1).unwrap_or(usize::MAX);
        let lines = shown.manifest.iter().map(|(path, digest)| line_hash(&shown.blind.of_path(path), path, digest));
        let file = |(path, content): &(FilePath, String)| DisclosedFile {
            line: shown.manifest.iter().take_while(|(other, _)| *other < path).count() + 1,
            path: path.clone(),
            blind: shown.blind.of_path(path),
            content: content.clone(),
        };
        Self {
            number: shown.number,
            path: inclusion_path(leaves, index).unwrap_or_default(),
            lines: lines.collect(),
            files: shown.files.iter().map(file).collect(),
        }
    }

    /// The entry's number.
    pub fn number(&self) -> EntryNumber {
        self.number
    }

    /// The files that are shown.
    pub fn files(&self) -> &[DisclosedFile] {
        &self.files
    }

    /// How many further files the entry has.
    pub fn hidden(&self) -> usize {
        self.lines.len().saturating_sub(self.files.len())
    }
}

impl DisclosedFile {
    /// Where the file lies in the entry.
    pub fn path(&self) -> &FilePath {
        &self.path
    }

    /// What it holds.
    pub fn content(&self) -> &str {
        &self.content
    }
}

/// A path as text.
mod path_text {
    use serde::{Deserialize, Deserializer, Serializer, de::Error};

    use crate::FilePath;

    pub(super) fn serialize<S: Serializer>(path: &FilePath, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(path.as_str())
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<FilePath, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(D::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::merkle::leaf;

    proptest! {
        /// Contents are hashed to the byte, so that the file must give them back to the byte, whatever they hold.
        #[test]
        fn every_content_comes_back_to_the_byte(content in "([a-z\r\n\t'\"\\\\# =\u{0}\u{1b}é]|\r\n|'''|\"\"\")*") {
            let path: FilePath = "trouble-codes.toml".parse().unwrap();
            let manifest = Manifest::over([(&path, content.as_bytes())]);
            let blind = Blind::from([7; 32]);
            let leaves = [leaf(b"first"), leaf(&blind.leaf_data(&manifest))];
            let files = vec![(path, content)];
            let made = Disclosure::of(&leaves, &[ShownEntry { number: EntryNumber::new(2).unwrap(), manifest, blind, files }]);
            prop_assert_eq!(made.check(None), []);
            for text in [made.to_text(), made.to_text().replace('\n', "\r\n")] {
                prop_assert_eq!(Disclosure::parse(&text), Ok(made.clone()));
            }
        }
    }
}
