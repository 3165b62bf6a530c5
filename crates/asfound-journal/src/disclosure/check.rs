//! Checks a disclosure, without the journal.

use asfound_core::names::{DefinitionId, EntryNumber};
use serde::Deserialize;
use thiserror::Error;

use super::{DisclosedEntry, DisclosedFile, Disclosure};
use crate::entry_files::line_hash;
use crate::merkle::{includes, leaf};
use crate::seal::{KeptSeal, Seal};
use crate::{Digest, FilePath};

/// What speaks against a disclosure.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum DisclosureFinding {
    /// A file is not the one that the entry's line is the hash of.
    #[error("entry {number}: {path} is not the file that was sealed")]
    FileAltered {
        /// The entry.
        number: EntryNumber,
        /// The file.
        path: FilePath,
    },
    /// The entry's lines do not lead to the seal in the file.
    #[error("entry {number} does not belong to the seal in the file")]
    NotInSeal {
        /// The entry.
        number: EntryNumber,
    },
    /// The `entry.toml` that is shown says another number or nothing of the kind.
    #[error("entry {number}: its entry.toml does not say that it is entry {number}")]
    Misnumbered {
        /// The entry.
        number: EntryNumber,
    },
    /// A setting does not follow from the bytes and the definition that are shown with it.
    #[error("entry {number}: {setting} does not follow from the bytes beside it{}", .holds.as_ref().map(|holds| format!(", which say {holds}")).unwrap_or_default())]
    SettingDiffers {
        /// The entry.
        number: EntryNumber,
        /// The setting, `module.setting`.
        setting: String,
        /// What the bytes say; nothing where they say nothing of it.
        holds: Option<String>,
    },
    /// The definition that a module file names is not shown, cannot be used, or does not fit the module.
    #[error(
        "entry {number}: {path} names the definition {definition}, which is not shown, cannot be used or does not fit"
    )]
    Unexplained {
        /// The entry.
        number: EntryNumber,
        /// The file.
        path: FilePath,
        /// The definition.
        definition: DefinitionId,
    },
    /// A file is not of its form.
    #[error("entry {number}: {path} cannot be read")]
    Unreadable {
        /// The entry.
        number: EntryNumber,
        /// The file.
        path: FilePath,
    },
    /// The seal that was kept is over as many entries and is another one.
    #[error("the seal in the file is not the one that was kept: it is over other entries")]
    OtherSeal,
    /// The seal that was kept is over another number of entries, so that the two cannot be compared.
    #[error("the file is proven against a seal over {here} entries, the one that was kept is over {kept}")]
    OtherNumber {
        /// The number in the file's seal.
        here: u64,
        /// The number in the seal that was kept.
        kept: u64,
    },
}

impl DisclosureFinding {
    /// One word for programs.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::FileAltered { .. } => "file-altered",
            Self::NotInSeal { .. } => "not-in-seal",
            Self::Misnumbered { .. } => "misnumbered",
            Self::SettingDiffers { .. } => "setting-differs",
            Self::Unexplained { .. } => "unexplained",
            Self::Unreadable { .. } => "unreadable",
            Self::OtherSeal => "other-seal",
            Self::OtherNumber { .. } => "other-number",
        }
    }

    /// The entry that it is about, where it is about one.
    pub fn entry(&self) -> Option<EntryNumber> {
        match self {
            Self::FileAltered { number, .. }
            | Self::NotInSeal { number }
            | Self::Misnumbered { number }
            | Self::SettingDiffers { number, .. }
            | Self::Unexplained { number, .. }
            | Self::Unreadable { number, .. } => Some(*number),
            Self::OtherSeal | Self::OtherNumber { .. } => None,
        }
    }

    /// What to do about it, where there is something.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::OtherNumber { kept, .. } => Some(format!(
                "ask for a disclosure against the seal that was kept (`asfound disclose … --at {kept}`), or for a proof \
                 that the journal was only added to between the two (`asfound audit … --seal SEAL --out FILE`)"
            )),
            _ => None,
        }
    }
}

/// The numbers in an `entry.toml`; all else in it is for whoever reads it.
#[derive(Deserialize)]
struct EntryNumbers {
    number: u64,
    chain: PreviousEntry,
}

#[derive(Deserialize)]
struct PreviousEntry {
    entries: u64,
}

impl Disclosure {
    /// Everything that speaks against it; nothing: it stands, against its own seal and the one that was kept.
    pub fn check(&self, kept: Option<&KeptSeal>) -> Vec<DisclosureFinding> {
        let mut findings = Vec::new();
        if let Some(kept) = kept.filter(|kept| !kept.fits(&self.seal)) {
            let (here, kept) = (self.seal.entries, kept.entries());
            let other = DisclosureFinding::OtherNumber { here, kept };
            findings.push(if here == kept { DisclosureFinding::OtherSeal } else { other });
        }
        self.entries.iter().for_each(|entry| entry.check(&self.seal, &mut findings));
        findings
    }
}

impl DisclosedEntry {
    fn check(&self, seal: &Seal, findings: &mut Vec<DisclosureFinding>) {
        let (number, before) = (self.number, findings.len());
        if !self.belongs_to(seal) {
            findings.push(DisclosureFinding::NotInSeal { number });
        }
        for file in &self.files {
            if !self.lists(file) {
                findings.push(DisclosureFinding::FileAltered { number, path: file.path.clone() });
            } else if file.path.as_str() == "entry.toml" && !says_number(&file.content, number) {
                findings.push(DisclosureFinding::Misnumbered { number });
            }
        }
        // What is not what was sealed has been named, whatever it says.
        if findings.len() == before {
            self.check_settings(findings);
        }
    }

    fn belongs_to(&self, seal: &Seal) -> bool {
        let data: Vec<u8> = self.lines.iter().flat_map(|line| *line.as_bytes()).collect();
        includes(&seal.root, seal.entries, u64::from(self.number.get()) - 1, &leaf(&data), &self.path)
    }

    fn lists(&self, file: &DisclosedFile) -> bool {
        let line = file.line.checked_sub(1).and_then(|at| self.lines.get(at));
        line == Some(&line_hash(&file.blind, &file.path, &Digest::of(file.content.as_bytes())))
    }
}

fn says_number(text: &str, number: EntryNumber) -> bool {
    let number = u64::from(number.get());
    toml::from_str::<EntryNumbers>(text).is_ok_and(|says| says.number == number && says.chain.entries == number - 1)
}
