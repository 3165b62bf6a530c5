//! Why a text is no seal.

use thiserror::Error;

use super::CheckpointError;
use crate::DigestError;

/// Why a text is no seal, in words for whoever typed it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum SealError {
    /// The number of entries is no number, or one that no journal has.
    #[error("invalid number of entries `{0}`: a seal states at least one, in digits")]
    Entries(String),
    /// The root is not well formed.
    #[error("the part after the colon is not a root: {0}")]
    Root(#[from] DigestError),
    /// A character does not occur in short seals.
    #[error("`{0}` does not occur in a short seal: it has digits and the letters A to Z without I, L, O and U")]
    Character(char),
    /// There are too few or too many characters.
    #[error("a short seal has groups of five characters, six groups or more; here are {found} characters: {}", slip(*.found))]
    Length {
        /// How many there are, without spaces and dashes.
        found: usize,
    },
    /// The check character does not fit.
    #[error("there is a typing error in the seal: a character is wrong, or two are swapped")]
    Typo,
    /// A note that holds a seal is not well formed.
    #[error(transparent)]
    Checkpoint(#[from] CheckpointError),
}

/// What probably happened where groups of five do not come out even.
fn slip(found: usize) -> &'static str {
    match found {
        0 => "nothing was typed",
        1..28 => "some are missing",
        _ if found % 5 == 4 => "one is missing",
        _ if found % 5 == 1 => "one is too many",
        _ => "some are missing or too many",
    }
}

impl SealError {
    /// What to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Character('U' | 'u') => "it may be a V",
            Self::Checkpoint(_) => "the note has the origin, the number of entries and the root, each on a line",
            _ => "compare it with the seal that was kept, group by group",
        }
    }
}
