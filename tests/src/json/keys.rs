//! `asfound/keys/1`: what `key list` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, rising};

/// The keys of a garage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Keys {
    /// The schema.
    pub schema: String,
    /// The key that signs; nothing where entries are filed unsigned.
    pub signing: Option<SigningKey>,
    /// The people who file entries here, each with their own key.
    pub people: Vec<PersonWithKey>,
    /// The keys that are trusted, in the order of the list.
    pub trusted: Vec<TrustedKey>,
    /// Lines of the list that cannot be read and trust nobody, in order.
    pub problems: Vec<UnreadableLine>,
    /// The keys in the ssh-agent, in its order; nothing unless they were asked for.
    pub agent: Option<Vec<AgentKey>>,
}

/// Somebody who files entries here.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PersonWithKey {
    /// Name and e-mail address.
    pub author: String,
    /// The fingerprint of their key; nothing where the garage's signs for them.
    pub key: Option<String>,
    /// The file of its private half; nothing where an ssh-agent holds it.
    pub file: Option<String>,
}

/// The key that signs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SigningKey {
    /// Its fingerprint.
    pub key: String,
    /// The file of its private half; nothing where an ssh-agent holds it.
    pub file: Option<String>,
}

/// A key that is trusted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrustedKey {
    /// The names by which it is trusted, as patterns separated by commas.
    pub principals: String,
    /// Its fingerprint.
    pub key: String,
    /// Its kind, as in `Ed25519`.
    pub kind: String,
    /// The comment beside it; may be empty.
    pub comment: String,
    /// The moment from which on it is trusted.
    pub from: Option<String>,
    /// The moment up to which it is trusted.
    pub until: Option<String>,
    /// Whether it is trusted for entries at all.
    pub for_entries: bool,
}

/// A line of the list that cannot be read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UnreadableLine {
    /// Its number, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub message: String,
}

/// A key in the ssh-agent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AgentKey {
    /// Its fingerprint.
    pub key: String,
    /// Its kind.
    pub kind: String,
    /// Its comment; may be empty.
    pub comment: String,
}

impl Answer for Keys {
    const SCHEMA: &'static str = "asfound/keys/1";
    fn check(&self) {
        rising("unreadable lines", &self.problems, |problem| problem.line);
    }
}
