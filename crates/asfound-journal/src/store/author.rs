//! Who makes an entry.

use std::fmt;

use thiserror::Error;

/// Why a name or an address was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum AuthorError {
    /// Nothing is left of it once the edges are trimmed.
    #[error("the author's {0} is empty")]
    Empty(&'static str),
    /// It holds a character that cannot be stored.
    #[error("the author's {part} `{text}` cannot be stored: `{}` is not allowed in it", found.escape_default())]
    Character {
        /// Name or e-mail address.
        part: &'static str,
        /// The text as it was given, cut short.
        text: String,
        /// The first character that is not allowed.
        found: char,
    },
}

/// The name and e-mail address of whoever makes an entry.
///
/// Spaces and the marks `, : ; " ' \` are trimmed from both ends, as git does, so that
/// what is asked for is what is read back.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Author {
    name: String,
    email: String,
}

impl Author {
    /// An author; both parts must have something in them, and no angle brackets or line breaks.
    pub fn new(name: &str, email: &str) -> Result<Self, AuthorError> {
        Ok(Self { name: Self::checked_name(name)?, email: Self::checked_email(email)? })
    }

    /// The name as it would be stored.
    pub fn checked_name(name: &str) -> Result<String, AuthorError> {
        checked("name", name)
    }

    /// The e-mail address as it would be stored.
    pub fn checked_email(email: &str) -> Result<String, AuthorError> {
        checked("e-mail address", email)
    }

    /// An author as it is found in a store, whoever wrote it there.
    pub(super) fn as_found(name: String, email: String) -> Self {
        Self { name, email }
    }

    /// The name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The e-mail address.
    pub fn email(&self) -> &str {
        &self.email
    }
}

fn checked(part: &'static str, text: &str) -> Result<String, AuthorError> {
    if let Some(found) = text.chars().find(|&c| c.is_control() || c == '<' || c == '>') {
        return Err(AuthorError::Character { part, text: text.chars().take(80).collect(), found });
    }
    let edge = |c: char| matches!(c, ' ' | ',' | ':' | ';' | '"' | '\'' | '\\');
    match text.trim_matches(edge) {
        "" => Err(AuthorError::Empty(part)),
        trimmed => Ok(trimmed.to_owned()),
    }
}

impl fmt::Display for Author {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} <{}>", self.name, self.email)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_are_trimmed_and_the_rest_is_kept() {
        let author = Author::new(" \"Edda Brandt, Jr.\" ", "edda@workshop.example;").unwrap();
        assert_eq!(author.to_string(), "Edda Brandt, Jr. <edda@workshop.example>");
    }

    #[test]
    fn what_a_commit_cannot_hold_is_refused() {
        assert_eq!(Author::new(" ' ", "a@b.example"), Err(AuthorError::Empty("name")));
        assert_eq!(Author::new("Edda", ""), Err(AuthorError::Empty("e-mail address")));
        for name in ["a<b", "a>b", "a\nb", "a\0b", "a\u{85}b"] {
            let error = Author::new(name, "a@b.example").unwrap_err();
            assert!(matches!(error, AuthorError::Character { part: "name", .. }), "{name:?}");
        }
    }
}
