//! How the signature of an entry is shown.

use asfound_journal::journal::FiledEntry;
use asfound_journal::sign::{AllowedSigners, Meaning, SignatureState};
use serde_json::{Value, json};

use crate::failure::Failure;
use crate::setup::TracedJournal;

/// The signature of one entry.
pub struct SignatureLine {
    state: SignatureState,
    meaning: Option<Meaning>,
    /// Whether it is by the author, as far as the name goes by which the key is trusted.
    by_author: bool,
    /// Whether the garage signs entries, or trusts keys.
    in_use: bool,
}

impl SignatureLine {
    /// The signature of an entry, held against the keys that the garage trusts.
    ///
    /// # Errors
    /// When the commit of the entry cannot be read.
    pub fn new(known: &TracedJournal, filed: &FiledEntry, allowed: &AllowedSigners) -> Result<Self, Failure> {
        let state = known.journal().signature(filed, allowed)?;
        let by_author = state.is_by(&filed.entry.author);
        let in_use = known.garage.settings().signing.is_some() || allowed.signers().next().is_some();
        Ok(Self { state, meaning: filed.signed.as_ref().map(|signed| signed.meaning), by_author, in_use })
    }

    /// One line for it; nothing where there is no signature and nobody in this garage signs.
    pub fn text(&self) -> Option<String> {
        let meaning = self.meaning.map(|meaning| format!("{meaning}, ")).unwrap_or_default();
        Some(match &self.state {
            SignatureState::Good { principal, fingerprint } => {
                let who = if self.by_author { "" } else { ", who is not the author" };
                format!("good: {meaning}by {principal}{who}, key {fingerprint}")
            }
            SignatureState::Unknown { fingerprint, why } => format!("unknown: {meaning}{why}, {fingerprint}"),
            SignatureState::Bad { why } => format!("BAD: {why}"),
            SignatureState::Missing if self.in_use => "none".to_owned(),
            SignatureState::Missing => return None,
        })
    }

    /// The same as JSON.
    pub fn json(&self) -> Value {
        let (principal, key, why) = match &self.state {
            SignatureState::Good { principal, fingerprint } => (Some(principal), Some(fingerprint), None),
            SignatureState::Unknown { fingerprint, why } => (None, Some(fingerprint), Some(why.to_string())),
            SignatureState::Bad { why } => (None, None, Some(why.to_string())),
            SignatureState::Missing => (None, None, None),
        };
        json!({
            "state": self.state.word(),
            "meaning": self.meaning,
            "principal": principal,
            "by_author": self.by_author,
            "key": key,
            "why": why,
        })
    }
}
