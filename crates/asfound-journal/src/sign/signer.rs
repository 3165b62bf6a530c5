//! Whoever signs.

use std::fmt;
use std::io;
use std::path::PathBuf;

use ssh_key::{HashAlg, LineEnding, Signature, SshSig};
use thiserror::Error;

use super::commit_text::join;
use super::{Fingerprint, PublicKey, PublicKeyError, verify::valid};

/// What separates signatures over git objects from all others that a key makes (OpenSSH, `PROTOCOL.sshsig`).
pub(super) const NAMESPACE: &str = "git";

/// Why something could not be signed.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SignError {
    /// The file of the key cannot be read.
    #[error("the signing key {} cannot be read: {source}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the operating system said.
        source: io::Error,
    },
    /// The file holds no private key in OpenSSH's form.
    #[error("{} holds no private key in OpenSSH's form", path.display())]
    NoKey {
        /// The file.
        path: PathBuf,
    },
    /// The key is of a kind that is not used here.
    #[error("{}: {source}", path.display())]
    Kind {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: PublicKeyError,
    },
    /// The file holds another key than the garage names.
    #[error("{} holds the key {found}, and this garage signs with {wanted}", path.display())]
    OtherKey {
        /// The file.
        path: PathBuf,
        /// The key that the garage names.
        wanted: Fingerprint,
        /// The key in the file.
        found: Fingerprint,
    },
    /// The key is locked with a passphrase and none was given.
    #[error("the signing key {} is locked with a passphrase", path.display())]
    Locked {
        /// The file.
        path: PathBuf,
    },
    /// The passphrase does not open the key.
    #[error("the passphrase does not open the signing key {}", path.display())]
    WrongPassphrase {
        /// The file.
        path: PathBuf,
    },
    /// There is no agent to be asked.
    #[error("the ssh-agent that holds the signing key {wanted} cannot be reached: {detail}")]
    NoAgent {
        /// The key that it is to hold.
        wanted: Fingerprint,
        /// What went wrong.
        detail: String,
    },
    /// The agent does not have the key.
    #[error("the ssh-agent does not hold the signing key {wanted}")]
    NotInAgent {
        /// The key.
        wanted: Fingerprint,
    },
    /// The key, or the agent that holds it, did not sign.
    #[error("the key {key} did not sign: {detail}")]
    Refused {
        /// The key.
        key: Fingerprint,
        /// What went wrong.
        detail: String,
    },
}

impl SignError {
    /// What to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::File { .. } => "bring the key back, name another with `asfound key use`, or stop signing with `asfound key stop`; \
                 nothing was filed"
                .to_owned(),
            Self::NoKey { path } => {
                let named = path.display();
                if path.extension().is_some_and(|extension| extension == "pub") {
                    format!("that is the public half; name the private one, or a key in the ssh-agent: `asfound key use --agent {}`", "FINGERPRINT")
                } else {
                    format!("`ssh-keygen -t ed25519` makes a key; `ssh-keygen -p -f {named}` rewrites one of an older form")
                }
            }
            Self::Kind { .. } => "`ssh-keygen -t ed25519` makes a key that can".to_owned(),
            Self::OtherKey { path, .. } => {
                format!("if the new key is right: `asfound key use {}`; nothing was filed", path.display())
            }
            Self::Locked { .. } => {
                "run it at a terminal to be asked, set ASFOUND_KEY_PASSPHRASE, or keep the key in an ssh-agent; nothing was filed"
                    .to_owned()
            }
            Self::WrongPassphrase { .. } => "try again; nothing was filed".to_owned(),
            Self::NoAgent { .. } => {
                "start one with `eval $(ssh-agent)`, add the key with `ssh-add FILE`, then try again; nothing was filed".to_owned()
            }
            Self::NotInAgent { .. } => {
                "add it with `ssh-add FILE`; `ssh-add -l` lists what the agent holds; nothing was filed".to_owned()
            }
            Self::Refused { .. } => "if the agent asks before it signs, say yes; nothing was filed".to_owned(),
        }
    }
}

/// A key that is ready to sign.
pub trait Signer: fmt::Debug {
    /// Its public half.
    fn public_key(&self) -> &PublicKey;

    /// A signature over these bytes, in the form that the agent protocol has for it.
    ///
    /// # Errors
    /// What the key, or the agent that holds it, has against it.
    fn sign_bytes(&self, bytes: &[u8]) -> Result<RawSignature, SignError>;
}

/// The bare signature of some bytes.
#[derive(Debug, Clone)]
pub struct RawSignature(pub(super) Signature);

/// The text of a commit with its signature in it.
///
/// The signature is checked before it is handed back: nothing is filed with one that does not hold.
///
/// # Errors
/// When the key does not sign, or what it gives is no signature of it.
pub fn signed_commit(text: &[u8], signer: &dyn Signer) -> Result<Vec<u8>, SignError> {
    let key = signer.public_key();
    let refused = |detail: &dyn fmt::Display| SignError::Refused { key: key.fingerprint(), detail: detail.to_string() };
    let bytes = SshSig::signed_data(NAMESPACE, HashAlg::Sha512, text).map_err(|error| refused(&error))?;
    let RawSignature(signature) = signer.sign_bytes(&bytes)?;
    let signature = SshSig::new(key.data().clone(), NAMESPACE, HashAlg::Sha512, signature)
        .and_then(|signature| signature.to_pem(LineEnding::LF))
        .map_err(|error| refused(&error))?;
    match valid(text, signature.as_bytes()) {
        Ok(found) if found == *key.data() => Ok(join(text, &signature)),
        Ok(_) => Err(refused(&"the signature is by another key")),
        Err(why) => Err(refused(&why)),
    }
}
