//! Says what the signature of a commit is worth.

use asfound_core::entry::Author;
use ssh_key::public::KeyData;
use ssh_key::{Algorithm, LineEnding, SshSig};
use thiserror::Error;
use time::{OffsetDateTime, UtcOffset};

use super::commit_text::{CommitParts, author, committed, split};
use super::public_key::fingerprint;
use super::signer::NAMESPACE;
use super::{AllowedSigners, Fingerprint, SignedAs};

/// What the signature of an entry is worth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SignatureState {
    /// It holds, and its key was trusted at the time of the entry.
    Good {
        /// The name by which the key is trusted: the author's e-mail address or name where it is trusted by
        /// that, else the first that it is trusted by.
        principal: String,
        /// The key.
        fingerprint: Fingerprint,
    },
    /// It holds, but nothing says whose key that is.
    Unknown {
        /// The key.
        fingerprint: Fingerprint,
        /// Why its key is not trusted.
        why: TrustDoubt,
    },
    /// It does not hold.
    Bad {
        /// What is wrong with it.
        why: BadSignature,
    },
    /// There is none.
    Missing,
}

/// Why the key of a signature that holds is not trusted.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TrustDoubt {
    /// It is not in the list of keys.
    #[error("the key is not among those that this garage trusts")]
    NotListed,
    /// It is in the list, but for another time.
    #[error("the key of {principal} was not trusted at the time of the entry")]
    OtherTime {
        /// The name by which it is trusted at other times.
        principal: String,
    },
    /// It is in the list, but for something else than entries.
    #[error("the key of {principal} is trusted for other uses only")]
    OtherUse {
        /// The name by which it is trusted for other uses.
        principal: String,
    },
}

/// What is wrong with a signature.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum BadSignature {
    /// It was not made over this text, or not by the key that it names.
    #[error("the signature does not fit the entry: one of them was altered")]
    DoesNotFit,
    /// It cannot be read.
    #[error("the signature cannot be read: {0}")]
    Unreadable(String),
    /// It was made for something else than git objects.
    #[error("the signature was made for another use, `{0}`")]
    OtherUse(String),
    /// Its kind is not taken.
    #[error("signatures of the kind `{0}` are not taken")]
    Kind(String),
    /// There is more than one.
    #[error("there is more than one signature")]
    Several,
    /// The entry says that it was signed, and is not.
    #[error("the entry says that it was signed with {0}, and the signature is gone")]
    Gone(Fingerprint),
    /// The entry says that it was signed with another key.
    #[error("the entry says that it was signed with {said}, and the signature is by {found}")]
    OtherKey {
        /// The key that the entry names.
        said: Fingerprint,
        /// The key that made the signature.
        found: Fingerprint,
    },
}

impl SignatureState {
    /// One word for it: `good`, `unknown`, `bad` or `missing`.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Good { .. } => "good",
            Self::Unknown { .. } => "unknown",
            Self::Bad { .. } => "bad",
            Self::Missing => "missing",
        }
    }

    /// Whether it is good, and by the key of this author: one that is trusted by the author's name or e-mail address.
    pub fn is_by(&self, author: &Author) -> bool {
        let Self::Good { principal, .. } = self else { return false };
        principal == author.name() || author.email() == Some(principal.as_str())
    }

    /// The same, held against what the entry says of its own signature: a signature that is gone, or by another
    /// key than the entry names, is bad.
    #[must_use]
    pub fn held_against(self, said: Option<&SignedAs>) -> Self {
        let Some(SignedAs { key, .. }) = said else { return self };
        match &self {
            Self::Missing => Self::Bad { why: BadSignature::Gone(key.clone()) },
            Self::Good { fingerprint, .. } | Self::Unknown { fingerprint, .. } if fingerprint != key => {
                Self::Bad { why: BadSignature::OtherKey { said: key.clone(), found: fingerprint.clone() } }
            }
            _ => self,
        }
    }
}

/// Says what the signature of a commit is worth.
///
/// `commit` is the whole text of the commit object. Whether a key was trusted is asked for the time that the commit
/// states, because a key that has ended or was replaced keeps its old entries good; whoever has the key can
/// therefore write an earlier time, and only a seal that somebody else keeps says otherwise.
pub fn verify(commit: &[u8], allowed: &AllowedSigners) -> SignatureState {
    let bad = |why| SignatureState::Bad { why };
    let CommitParts { text, signature, others } = split(commit);
    if others {
        return bad(BadSignature::Several);
    }
    let Some(signature) = signature else { return SignatureState::Missing };
    match valid(&text, &signature) {
        Ok(key) => trusted(&text, &key, allowed),
        Err(why) => bad(why),
    }
}

/// The key that made this signature over this text.
pub(super) fn valid(text: &[u8], signature: &[u8]) -> Result<KeyData, BadSignature> {
    if !signature.starts_with(b"-----BEGIN SSH SIGNATURE-----") {
        return Err(BadSignature::Kind("no SSH signature".to_owned()));
    }
    let armoured = signature;
    let unreadable = |error: ssh_key::Error| BadSignature::Unreadable(error.to_string());
    let signature = SshSig::from_pem(armoured).map_err(unreadable)?;
    // The crate overlooks wrong lengths inside, which OpenSSH does not.
    let again = signature.to_pem(LineEnding::LF).map_err(unreadable)?;
    let solid = |text: &[u8]| text.iter().copied().filter(|byte| !byte.is_ascii_whitespace()).collect::<Vec<u8>>();
    if solid(again.as_bytes()) != solid(armoured) {
        return Err(BadSignature::Unreadable("it does not have OpenSSH's form".to_owned()));
    }
    if signature.namespace() != NAMESPACE {
        return Err(BadSignature::OtherUse(signature.namespace().chars().take(40).collect()));
    }
    let key = signature.public_key();
    // What OpenSSH refuses too: RSA with SHA-1, and DSA.
    let kind = signature.algorithm();
    if matches!(kind, Algorithm::Rsa { hash: None } | Algorithm::Dsa | Algorithm::Other(_)) {
        return Err(BadSignature::Kind(kind.as_str().to_owned()));
    }
    let public = ssh_key::PublicKey::new(key.clone(), "");
    public.verify(NAMESPACE, text, &signature).map_err(|_| BadSignature::DoesNotFit)?;
    Ok(key.clone())
}

fn trusted(text: &[u8], key: &KeyData, allowed: &AllowedSigners) -> SignatureState {
    let fingerprint = fingerprint(key);
    let (name, email) = author(text).unwrap_or_default();
    let names = [email.as_str(), name.as_str()];
    let at = committed(text).and_then(|(seconds, offset)| {
        let offset = UtcOffset::from_whole_seconds(offset).ok()?;
        OffsetDateTime::from_unix_timestamp(seconds).ok()?.checked_to_offset(offset)
    });
    let mut why = TrustDoubt::NotListed;
    for signer in allowed.with_key(key) {
        let principal = signer.known_as(&names).to_owned();
        if !signer.is_for_entries() {
            why = TrustDoubt::OtherUse { principal };
        } else if at.is_some_and(|at| signer.is_valid_at(at)) {
            return SignatureState::Good { principal, fingerprint };
        } else {
            why = TrustDoubt::OtherTime { principal };
        }
    }
    SignatureState::Unknown { fingerprint, why }
}
