//! Public keys and their fingerprints.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use ssh_key::public::KeyData;
use ssh_key::{Algorithm, EcdsaCurve, HashAlg};
use thiserror::Error;

/// The fingerprint of a key: `SHA256:` and the SHA-256 of the public key in base64 without padding, as
/// `ssh-keygen -l` shows it.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Fingerprint(String);

/// A text that is no fingerprint.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid fingerprint `{0}`: it is written `SHA256:` and 43 characters, as `ssh-keygen -l -f FILE` shows it")]
pub struct FingerprintError(String);

impl Fingerprint {
    /// The fingerprint as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Fingerprint {
    type Err = FingerprintError;
    fn from_str(text: &str) -> Result<Self, FingerprintError> {
        match text.parse::<ssh_key::Fingerprint>() {
            Ok(parsed @ ssh_key::Fingerprint::Sha256(_)) => Ok(Self(parsed.to_string())),
            _ => Err(FingerprintError(text.chars().take(60).collect())),
        }
    }
}

impl TryFrom<String> for Fingerprint {
    type Error = FingerprintError;
    fn try_from(text: String) -> Result<Self, FingerprintError> {
        text.parse()
    }
}

impl From<Fingerprint> for String {
    fn from(fingerprint: Fingerprint) -> String {
        fingerprint.0
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// A text that is no public key of a kind that is used here.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PublicKeyError {
    /// It cannot be read.
    #[error("no public key in OpenSSH's form, which is one line as in `ssh-ed25519 AAAA… comment`")]
    Unreadable,
    /// Its kind is not used for signatures here.
    #[error("a key of the kind `{0}` cannot be used: Ed25519, ECDSA and RSA can")]
    Kind(String),
}

/// A public key.
#[derive(Debug, Clone)]
pub struct PublicKey {
    data: KeyData,
    comment: String,
}

/// The comment belongs to whoever wrote the file, not to the key.
impl PartialEq for PublicKey {
    fn eq(&self, other: &Self) -> bool {
        self.data == other.data
    }
}

impl Eq for PublicKey {}

impl PublicKey {
    /// Reads the line of a `.pub` file, `<kind> <base64> [comment]`.
    pub fn parse(line: &str) -> Result<Self, PublicKeyError> {
        let key = ssh_key::PublicKey::from_openssh(line.trim()).map_err(|_| PublicKeyError::Unreadable)?;
        Self::of(key.key_data().clone(), key.comment())
    }

    pub(super) fn of(data: KeyData, comment: &str) -> Result<Self, PublicKeyError> {
        if kind(&data).is_none() {
            return Err(PublicKeyError::Kind(data.algorithm().as_str().to_owned()));
        }
        Ok(Self { data, comment: comment.replace(char::is_control, " ") })
    }

    /// The key's fingerprint.
    pub fn fingerprint(&self) -> Fingerprint {
        fingerprint(&self.data)
    }

    /// The kind of key, as in `Ed25519`, `ECDSA P-256`, `RSA`.
    pub fn kind(&self) -> &'static str {
        kind(&self.data).unwrap_or("unknown")
    }

    /// The comment that came with the key; may be empty.
    pub fn comment(&self) -> &str {
        &self.comment
    }

    /// The kind and the key in base64, as a `.pub` file has them, without the comment.
    pub fn to_line(&self) -> String {
        ssh_key::PublicKey::new(self.data.clone(), "").to_openssh().unwrap_or_default()
    }

    pub(super) fn data(&self) -> &KeyData {
        &self.data
    }
}

pub(super) fn fingerprint(data: &KeyData) -> Fingerprint {
    Fingerprint(data.fingerprint(HashAlg::Sha256).to_string())
}

fn kind(data: &KeyData) -> Option<&'static str> {
    Some(match data.algorithm() {
        Algorithm::Ed25519 => "Ed25519",
        Algorithm::Ecdsa { curve: EcdsaCurve::NistP256 } => "ECDSA P-256",
        Algorithm::Ecdsa { curve: EcdsaCurve::NistP384 } => "ECDSA P-384",
        Algorithm::Ecdsa { curve: EcdsaCurve::NistP521 } => "ECDSA P-521",
        Algorithm::Rsa { .. } => "RSA",
        Algorithm::SkEd25519 => "Ed25519 on a security key",
        Algorithm::SkEcdsaSha2NistP256 => "ECDSA P-256 on a security key",
        _ => return None,
    })
}
