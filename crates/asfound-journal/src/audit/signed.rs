//! What the signatures of the entries are worth.

use asfound_core::entry::Author;

use super::FindingKind;
use crate::sign::{SignatureState, SignedAs};

/// How many entries have a signature of each worth, of all whose files could be listed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Signatures {
    /// It holds, by a key that was trusted when the entry was recorded.
    pub good: u32,
    /// It holds, by a key of which nothing says whose it is.
    pub unknown: u32,
    /// It does not hold, is by another key than the entry names, or is gone.
    pub bad: u32,
    /// There is none and the entry names none.
    pub missing: u32,
}

impl Signatures {
    /// Counts a signature, as it stands in the commit, and holds it against what the entry says of it, as far as that can be
    /// read. Hands back what speaks against it.
    pub(super) fn check(
        &mut self,
        state: SignatureState,
        said: Option<&SignedAs>,
        author: Option<&Author>,
    ) -> Option<FindingKind> {
        let signed_before = self.good + self.unknown + self.bad > 0;
        match state.held_against(said) {
            state @ SignatureState::Good { .. } => {
                self.good += 1;
                let other = author.is_some_and(|author| !state.is_by(author));
                let SignatureState::Good { principal, .. } = state else { return None };
                other.then_some(FindingKind::SignedForAnother { principal })
            }
            SignatureState::Unknown { fingerprint, why } => {
                self.unknown += 1;
                Some(FindingKind::SignatureUnknown { fingerprint, why })
            }
            SignatureState::Bad { why } => {
                self.bad += 1;
                Some(FindingKind::SignatureBad(why))
            }
            SignatureState::Missing => {
                self.missing += 1;
                signed_before.then_some(FindingKind::SignatureMissing)
            }
        }
    }
}
