//! A proof, in a file, that a journal was only added to.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{KeptSeal, Seal};
use crate::Digest;
use crate::merkle::{consistency_path, extends};

/// The version of the file that this program writes and reads.
pub const EXTENSION_FORMAT: &str = "asfound-extension/1";

/// Why a text is no such file.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ExtensionError {
    /// It is no TOML, or not of this form.
    #[error("this is not a proof of an extension: {0}")]
    Form(String),
    /// It is of a version that this program does not know.
    #[error("the file has the format `{0}`, a proof of an extension has `{EXTENSION_FORMAT}`")]
    Version(String),
}

/// A proof that the journal with the later seal begins with the entries of the earlier one, unaltered and in order.
///
/// It holds nothing of the entries, and is checked without the journal. Made from RFC 9162's consistency proof.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Extension {
    format: String,
    earlier: Seal,
    later: Seal,
    path: Vec<Digest>,
}

/// What speaks against a proof.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExtensionFinding {
    /// The proof does not lead from the one seal to the other: it was altered, or the journal was rewritten.
    NoExtension,
    /// The earlier seal is not the one that was kept.
    EarlierDiffers,
    /// The later seal is not the one that was kept.
    LaterDiffers,
}

#[derive(Deserialize)]
struct Version {
    format: String,
}

impl Extension {
    /// The proof that the journal with these leaf hashes extends the one of its first `earlier` entries.
    ///
    /// Nothing where `earlier` is 0 or more than there are.
    pub fn prove(leaves: &[Digest], earlier: u64) -> Option<Self> {
        let earlier = usize::try_from(earlier).ok()?;
        let path = consistency_path(leaves, earlier)?;
        let format = EXTENSION_FORMAT.to_owned();
        Some(Self { format, earlier: Seal::over(&leaves[..earlier]), later: Seal::over(leaves), path })
    }

    /// The earlier seal that the proof is about.
    pub fn earlier(&self) -> &Seal {
        &self.earlier
    }

    /// The later one.
    pub fn later(&self) -> &Seal {
        &self.later
    }

    /// Whether the proof holds between its own two seals.
    pub fn holds(&self) -> bool {
        let tree = |seal: &Seal| (seal.entries, seal.root);
        let ((m, earlier), (n, later)) = (tree(&self.earlier), tree(&self.later));
        extends((m, &earlier), (n, &later), &self.path)
    }

    /// Everything that speaks against the proof, given the seals that somebody kept. Empty: it stands.
    pub fn check(&self, earlier: Option<&KeptSeal>, later: Option<&KeptSeal>) -> Vec<ExtensionFinding> {
        let differs = |kept: Option<&KeptSeal>, seal: &Seal| kept.is_some_and(|kept| !kept.fits(seal));
        let findings = [
            (!self.holds()).then_some(ExtensionFinding::NoExtension),
            differs(earlier, &self.earlier).then_some(ExtensionFinding::EarlierDiffers),
            differs(later, &self.later).then_some(ExtensionFinding::LaterDiffers),
        ];
        findings.into_iter().flatten().collect()
    }

    /// The file.
    pub fn to_text(&self) -> String {
        let body = toml::to_string_pretty(self).expect("seals and hashes are texts, which TOML can hold");
        let says = "# Proof that a journal was only added to between two seals. Check it with\n\
                    #   asfound audit THIS-FILE --seal THE-SEAL-YOU-KEPT\n\
                    # or by the consistency proof of RFC 9162, section 2.1.4.\n";
        format!("{says}{body}")
    }

    /// Reads a file; the version is looked at first, so that a newer one is named as such.
    pub fn parse(text: &str) -> Result<Self, ExtensionError> {
        let form = |error: toml::de::Error| ExtensionError::Form(error.to_string());
        let version: Version = toml::from_str(text).map_err(form)?;
        if version.format != EXTENSION_FORMAT {
            return Err(ExtensionError::Version(version.format.chars().take(80).collect()));
        }
        toml::from_str(text).map_err(form)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::merkle::leaf;

    fn leaves() -> Vec<Digest> {
        (0..11u8).map(|n| leaf(&[n])).collect()
    }

    #[test]
    fn a_proof_between_any_two_seals_stands_and_is_read_back() {
        let leaves = leaves();
        for later in 1..=leaves.len() {
            for earlier in 1..=later {
                let proof = Extension::prove(&leaves[..later], earlier as u64).unwrap();
                assert_eq!(Extension::parse(&proof.to_text()), Ok(proof.clone()));
                let kept = [earlier, later].map(|size| Seal::over(&leaves[..size]));
                assert_eq!((proof.earlier(), proof.later()), (&kept[0], &kept[1]));
                for [first, second] in [kept.map(KeptSeal::from), kept.map(|seal| seal.short().into())] {
                    assert_eq!(proof.check(Some(&first), Some(&second)), []);
                    if earlier != later {
                        let both = [ExtensionFinding::EarlierDiffers, ExtensionFinding::LaterDiffers];
                        assert_eq!(proof.check(Some(&second), Some(&first)), both);
                    }
                }
            }
        }
        assert_eq!(Extension::prove(&leaves, 0), None);
        assert_eq!(Extension::prove(&leaves, 12), None);
    }

    /// Every character of the file that says something: whatever is read from an altered file does not stand against the
    /// seals that were kept.
    #[test]
    fn no_altered_file_stands() {
        let leaves = leaves();
        let proof = Extension::prove(&leaves, 6).unwrap();
        let kept = [6, 11].map(|size| KeptSeal::from(Seal::over(&leaves[..size])));
        let text = proof.to_text();
        let start = text.find("earlier =").unwrap();
        let mut read = 0;
        for at in start..text.len() {
            for other in [b'0', b'7', b'f', b':', b' '] {
                let mut bytes = text.clone().into_bytes();
                if bytes[at] == other {
                    continue;
                }
                bytes[at] = other;
                let Ok(altered) = Extension::parse(std::str::from_utf8(&bytes).unwrap()) else { continue };
                if altered != proof {
                    read += 1;
                    assert_ne!(altered.check(Some(&kept[0]), Some(&kept[1])), [], "at {at}");
                }
            }
        }
        assert!(read > 500, "{read}");
    }

    #[test]
    fn other_files_are_told_apart() {
        assert!(matches!(Extension::parse("x"), Err(ExtensionError::Form(_))));
        let newer = "format = \"asfound-extension/2\"\n";
        assert_eq!(Extension::parse(newer), Err(ExtensionError::Version("asfound-extension/2".to_owned())));
        let more = format!("{}more = 1\n", Extension::prove(&leaves(), 2).unwrap().to_text());
        assert!(matches!(Extension::parse(&more), Err(ExtensionError::Form(_))));
    }
}
