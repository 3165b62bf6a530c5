//! Who made an entry and why: both are always there.

use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why an author was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum AuthorError {
    /// No name.
    #[error("an entry needs its author's name")]
    Empty,
    /// A character that git's commit format or a line of text cannot hold.
    #[error("an author's name and e-mail address cannot hold line ends, control characters, `<` or `>`")]
    Character,
}

/// The author of an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "AuthorForm", into = "AuthorForm")]
pub struct Author {
    name: String,
    email: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct AuthorForm {
    name: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    email: Option<String>,
}

/// `Edda Brandt <edda@workshop.example>`
impl fmt::Display for Author {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.email {
            Some(email) => write!(f, "{} <{email}>", self.name),
            None => f.pad(&self.name),
        }
    }
}

impl Author {
    /// An author by name and, where there is one, e-mail address.
    pub fn new(name: &str, email: Option<&str>) -> Result<Self, AuthorError> {
        let clean = |text: &str| !text.chars().any(|c| c.is_control() || c == '<' || c == '>');
        let (name, email) = (name.trim(), email.map(str::trim).filter(|e| !e.is_empty()));
        if name.is_empty() {
            return Err(AuthorError::Empty);
        }
        if !clean(name) || !email.is_none_or(clean) {
            return Err(AuthorError::Character);
        }
        Ok(Self { name: name.to_owned(), email: email.map(str::to_owned) })
    }

    /// The name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The e-mail address, where one was given.
    pub fn email(&self) -> Option<&str> {
        self.email.as_deref()
    }
}

impl TryFrom<AuthorForm> for Author {
    type Error = AuthorError;
    fn try_from(form: AuthorForm) -> Result<Self, AuthorError> {
        Self::new(&form.name, form.email.as_deref())
    }
}

impl From<Author> for AuthorForm {
    fn from(author: Author) -> Self {
        Self { name: author.name, email: author.email }
    }
}

/// Why a reason was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReasonError {
    /// There are no words in it.
    #[error("an entry needs its reason, in a few words")]
    Blank,
    /// It holds what is no text: only tabs and line breaks may stand between its words.
    #[error("the text holds the control character U+{:04X}, which no entry may hold", u32::from(*.0))]
    Control(char),
}

/// Why an entry was made: some text that is not blank.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Reason(String);

impl Reason {
    /// The reason as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for Reason {
    type Error = ReasonError;
    fn try_from(text: String) -> Result<Self, ReasonError> {
        let text = text.trim();
        let unfit = text.chars().find(|c| c.is_control() && !matches!(c, '\n' | '\t'));
        match unfit {
            Some(unfit) => Err(ReasonError::Control(unfit)),
            None if text.is_empty() => Err(ReasonError::Blank),
            None => Ok(Self(text.to_owned())),
        }
    }
}

impl From<Reason> for String {
    fn from(reason: Reason) -> String {
        reason.0
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}
