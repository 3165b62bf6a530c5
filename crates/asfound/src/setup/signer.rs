//! The key that signs, made ready.

use std::path::Path;
use std::rc::Rc;

use asfound_core::entry::Author;
use asfound_journal::garage::{Garage, SigningKey};
use asfound_journal::sign::{AgentKey, KeyFile, Passphrase, SignError, Signer};

use super::{Environment, Session};
use crate::exit::Exit;
use crate::failure::Failure;

/// How often somebody at the terminal may try.
const TRIES: u32 = 3;

impl Session<'_> {
    /// The key that this author's entries are signed with, ready to sign: their own, or else the garage's; nothing where there
    /// is neither.
    ///
    /// # Errors
    /// When the key is not to be had. Nothing is filed then: an entry that lacks its signature could not be told
    /// from one whose signature was taken away. And when it is trusted as another person's, unless that was said.
    pub fn signer(&self, garage: &Garage, author: &Author) -> Result<Option<Rc<dyn Signer>>, Failure> {
        let settings = garage.settings();
        let own = settings.people.iter().find(|person| person.author == *author).and_then(|it| it.signing.as_ref());
        let Some(SigningKey { key, file }) = own.or(settings.signing.as_ref()) else { return Ok(None) };
        if !self.as_said {
            let list = garage.allowed_signers()?;
            let listed: Vec<_> = list.signers().filter(|signer| signer.key.fingerprint() == *key).collect();
            if let Some(other) = listed.first().filter(|_| !listed.iter().any(|signer| signer.is_of(author))) {
                let whose = &other.principals;
                return Err(Failure::refused(format!(
                    "the entry is by {author}, and the key that would sign it is {whose}'s"
                ))
                .hint(
                    "say who you are with `--author`; give each their key with `asfound key use FILE --own`; or \
                         sign for another with `--as-said`, which every sheet tells",
                ));
            }
        }
        let Some(file) = file else {
            return Ok(Some(Rc::new(AgentKey::find(self.environment.agent.as_deref(), key)?)));
        };
        let held = KeyFile::open(file)?;
        let found = held.public_key().fingerprint();
        if found != *key {
            return Err(SignError::OtherKey { path: file.clone(), wanted: key.clone(), found }.into());
        }
        Ok(Some(Rc::new(unlocked(&held, file, &self.environment)?)))
    }
}

/// The key in a file, with its passphrase from the environment, else from somebody at the terminal.
fn unlocked(held: &KeyFile, file: &Path, environment: &Environment) -> Result<impl Signer + use<>, Failure> {
    let given = environment.key_passphrase.as_ref();
    if given.is_some() || !held.is_locked() || !environment.interactive {
        return Ok(held.unlock(given)?);
    }
    let question = format!("Passphrase of {} (it is not shown): ", file.display());
    let mut tries = 1;
    loop {
        let answer = rpassword::prompt_password(&question)
            .map_err(|error| Failure::usage(format!("no passphrase could be read: {error}")))?;
        match held.unlock(Some(&Passphrase::from(answer))) {
            Err(SignError::WrongPassphrase { .. }) if tries < TRIES => tries += 1,
            other => return Ok(other?),
        }
    }
}

impl From<SignError> for Failure {
    fn from(error: SignError) -> Self {
        Self { exit: Exit::Usage, message: error.to_string(), hint: Some(error.hint()) }
    }
}
