//! Keys in files.

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use rsa::rand_core::OsRng;
use rsa::sha2::{Digest, Sha512};
use ssh_key::private::{KeypairData, RsaKeypair};
use ssh_key::{Algorithm, HashAlg, PrivateKey, Signature, SigningKey};
use zeroize::Zeroizing;

use super::openssh_key;
use super::signer::RawSignature;
use super::{Passphrase, PublicKey, SignError, Signer};

/// A private key in a file in OpenSSH's form; its public half can be read without the passphrase.
pub struct KeyFile {
    path: PathBuf,
    private: PrivateKey,
    public: PublicKey,
}

impl KeyFile {
    /// Reads the file.
    ///
    /// # Errors
    /// When it cannot be read, or holds no key of a kind that is used here.
    pub fn open(path: &Path) -> Result<Self, SignError> {
        let path = path.to_owned();
        let bytes = match fs::read(&path) {
            Ok(bytes) => Zeroizing::new(bytes),
            Err(source) => return Err(SignError::File { path, source }),
        };
        let Some(private) = openssh_key::read(&bytes) else { return Err(SignError::NoKey { path }) };
        let public = match PublicKey::of(private.public_key().key_data().clone(), private.public_key().comment()) {
            Ok(public) => public,
            Err(source) => return Err(SignError::Kind { path, source }),
        };
        Ok(Self { path, private, public })
    }

    /// The public half.
    pub fn public_key(&self) -> &PublicKey {
        &self.public
    }

    /// Whether a passphrase is needed.
    pub fn is_locked(&self) -> bool {
        self.private.is_encrypted()
    }

    /// The key, ready to sign; `passphrase` is needed only where it is locked.
    ///
    /// # Errors
    /// When the passphrase is missing or wrong, or the key lies in a device of its own.
    pub fn unlock(&self, passphrase: Option<&Passphrase>) -> Result<FileKey, SignError> {
        let path = || self.path.clone();
        let private = match (self.is_locked(), passphrase) {
            (false, _) => self.private.clone(),
            (true, None) => return Err(SignError::Locked { path: path() }),
            (true, Some(passphrase)) => {
                let opened = openssh_key::unlock(&self.private, passphrase.as_bytes());
                opened.ok_or_else(|| SignError::WrongPassphrase { path: path() })?
            }
        };
        if matches!(private.key_data(), KeypairData::SkEd25519(_) | KeypairData::SkEcdsaSha2NistP256(_)) {
            let detail = "it lies in a security key, which only an ssh-agent can ask".to_owned();
            return Err(SignError::Refused { key: self.public.fingerprint(), detail });
        }
        Ok(FileKey { private, public: self.public.clone() })
    }
}

impl fmt::Debug for KeyFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("KeyFile").field("path", &self.path).field("public", &self.public).finish_non_exhaustive()
    }
}

/// A private key in memory, ready to sign. It is wiped when it goes, and nothing shows it.
pub struct FileKey {
    private: PrivateKey,
    public: PublicKey,
}

impl Signer for FileKey {
    fn public_key(&self) -> &PublicKey {
        &self.public
    }

    fn sign_bytes(&self, bytes: &[u8]) -> Result<RawSignature, SignError> {
        let signed = match self.private.key_data() {
            KeypairData::Rsa(pair) => sign_rsa(pair, bytes),
            _ => sign(&self.private, bytes),
        };
        signed.map(RawSignature).map_err(|detail| SignError::Refused { key: self.public.fingerprint(), detail })
    }
}

/// RSA with SHA-512 (RFC 8332), as the crate should make it: version 0.6.7 hands on the prime `p` twice and `q` never,
/// so that no key of two primes signs. The random bits only blind the computation against timing.
fn sign_rsa(pair: &RsaKeypair, bytes: &[u8]) -> Result<Signature, String> {
    let number = |mpint| rsa::BigUint::try_from(mpint).map_err(|error: ssh_key::Error| error.to_string());
    let (public, private) = (&pair.public, &pair.private);
    let primes = vec![number(&private.p)?, number(&private.q)?];
    let told = |error: rsa::Error| error.to_string();
    let key = rsa::RsaPrivateKey::from_components(number(&public.n)?, number(&public.e)?, number(&private.d)?, primes)
        .map_err(told)?;
    let padding = rsa::Pkcs1v15Sign::new::<Sha512>();
    let signature = key.sign_with_rng(&mut OsRng, padding, &Sha512::digest(bytes)).map_err(told)?;
    Signature::new(Algorithm::Rsa { hash: Some(HashAlg::Sha512) }, signature).map_err(|error| error.to_string())
}

/// Generic, because the method of the crate's trait is reached through its bound alone.
fn sign<K: SigningKey>(key: &K, bytes: &[u8]) -> Result<Signature, String> {
    key.try_sign(bytes).map_err(|error| error.to_string())
}

impl fmt::Debug for FileKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("FileKey").field("public", &self.public).finish_non_exhaustive()
    }
}
