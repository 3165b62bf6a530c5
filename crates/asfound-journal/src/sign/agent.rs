//! Keys in an ssh-agent (draft-ietf-sshm-ssh-agent).

use std::fmt;
use std::path::{Path, PathBuf};

use ssh_agent_client_rs::{Client, Identity};

use super::signer::RawSignature;
use super::{Fingerprint, PublicKey, SignError, Signer};

/// How long an agent may take. It may ask somebody, who has to find the window first.
#[cfg(unix)]
const PATIENCE: std::time::Duration = std::time::Duration::from_secs(120);

/// A key that an ssh-agent holds, ready to sign.
#[derive(Debug)]
pub struct AgentKey {
    socket: PathBuf,
    public: PublicKey,
}

impl AgentKey {
    /// Looks for a key in the agent at `socket`; without a socket there is no agent.
    ///
    /// # Errors
    /// When there is no agent, it does not answer, or it does not hold the key.
    pub fn find(socket: Option<&Path>, wanted: &Fingerprint) -> Result<Self, SignError> {
        let no_agent = |detail: String| SignError::NoAgent { wanted: wanted.clone(), detail };
        let Some(socket) = socket else { return Err(no_agent("SSH_AUTH_SOCK names none".to_owned())) };
        let held = agent_keys(socket).map_err(no_agent)?;
        match held.into_iter().find(|key| key.fingerprint() == *wanted) {
            Some(public) => Ok(Self { socket: socket.to_owned(), public }),
            None => Err(SignError::NotInAgent { wanted: wanted.clone() }),
        }
    }
}

impl Signer for AgentKey {
    fn public_key(&self) -> &PublicKey {
        &self.public
    }

    fn sign_bytes(&self, bytes: &[u8]) -> Result<RawSignature, SignError> {
        let refused = |detail| SignError::Refused { key: self.public.fingerprint(), detail };
        let mut client = connect(&self.socket).map_err(refused)?;
        let identity = ssh_key::PublicKey::new(self.public.data().clone(), "");
        client.sign(identity, bytes).map(RawSignature).map_err(|error| refused(told(&error)))
    }
}

/// The keys that the agent at `socket` holds, of the kinds that are used here.
///
/// # Errors
/// What went wrong, in words.
pub fn agent_keys(socket: &Path) -> Result<Vec<PublicKey>, String> {
    let held = connect(socket)?.list_all_identities().map_err(|error| told(&error))?;
    let keys = held.into_iter().filter_map(|identity| match identity {
        Identity::PublicKey(key) => PublicKey::of(key.key_data().clone(), key.comment()).ok(),
        // The bare key of a certificate is listed beside it.
        Identity::Certificate(_) => None,
    });
    Ok(keys.collect())
}

#[cfg(unix)]
fn connect(socket: &Path) -> Result<Client, String> {
    use std::os::unix::net::UnixStream;
    let connected = UnixStream::connect(socket).and_then(|stream| {
        stream.set_read_timeout(Some(PATIENCE))?;
        stream.set_write_timeout(Some(PATIENCE))?;
        Ok(stream)
    });
    let stream = connected.map_err(|error| format!("{}: {error}", socket.display()))?;
    Ok(Client::with_read_write(Box::new(stream)))
}

#[cfg(not(unix))]
fn connect(socket: &Path) -> Result<Client, String> {
    Client::connect(socket).map_err(|error| format!("{}: {}", socket.display(), told(&error)))
}

/// The crate's message alone hides what the operating system said.
fn told(error: &ssh_agent_client_rs::Error) -> String {
    use ssh_agent_client_rs::Error;
    let text: &dyn fmt::Display = match error {
        Error::AgentCommunicationError(source) => source,
        Error::RemoteFailure => &"the agent refused",
        Error::SSHKey(source) => source,
        other => other,
    };
    text.to_string()
}
