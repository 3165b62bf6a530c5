//! Signatures of entries, with SSH keys.
//!
//! A signature is made over the text of the commit, in the form that git has for it (`gpg.format = ssh`): `git
//! verify-commit` and `ssh-keygen -Y verify -n git` check it without this program. The key lies in a file
//! ([`KeyFile`]) or in an ssh-agent ([`AgentKey`]); which keys are trusted stands in a list in OpenSSH's own form
//! ([`AllowedSigners`]); [`verify`] says what a signature is worth. `docs/signatures.md` says what that proves,
//! and what it does not.

mod agent;
mod allowed_signers;
mod commit_text;
mod key_file;
mod meaning;
mod openssh_key;
mod passphrase;
mod principal;
mod public_key;
mod signer;
mod stamp;
mod verify;

pub use agent::{AgentKey, agent_keys};
pub use allowed_signers::{AllowedSigner, AllowedSigners};
pub use key_file::{FileKey, KeyFile};
pub use meaning::{Meaning, SignedAs};
pub use passphrase::Passphrase;
pub use principal::{Principal, PrincipalError};
pub use public_key::{Fingerprint, FingerprintError, PublicKey, PublicKeyError};
pub use signer::{RawSignature, SignError, Signer, signed_commit};
pub use stamp::Stamp;
pub use verify::{BadSignature, SignatureState, TrustDoubt, verify};
