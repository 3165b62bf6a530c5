//! Short names in lower case: tags, modules, settings, definitions, rules.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The longest slug that is accepted, in characters.
const LONGEST: usize = 64;

/// Why a short name was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SlugError {
    /// The name has no characters.
    #[error("a {0} cannot be empty")]
    Empty(&'static str),
    /// The name is too long to be a handle.
    #[error("`{text}` is too long for a {what} (at most {LONGEST} characters)")]
    TooLong {
        /// What kind of name it was meant to be.
        what: &'static str,
        /// The name as it was given, cut short.
        text: String,
    },
    /// The name starts with something other than a letter from a to z.
    #[error("`{text}` cannot be a {what}: it must start with a letter from a to z")]
    Start {
        /// What kind of name it was meant to be.
        what: &'static str,
        /// The name as it was given.
        text: String,
    },
    /// The name holds a character that is not allowed.
    #[error("`{text}` cannot be a {what}: `{found}` is not allowed, only a to z, 0 to 9 and `{joiner}` between them")]
    Character {
        /// What kind of name it was meant to be.
        what: &'static str,
        /// The name as it was given.
        text: String,
        /// The first character that is not allowed.
        found: char,
        /// The joining character this kind of name uses.
        joiner: char,
    },
}

/// Checks a slug: a letter, then letters, digits and single joiners between them.
fn check(what: &'static str, joiner: char, text: &str) -> Result<(), SlugError> {
    let Some(first) = text.chars().next() else {
        return Err(SlugError::Empty(what));
    };
    if text.chars().count() > LONGEST {
        return Err(SlugError::TooLong { what, text: text.chars().take(LONGEST).collect() });
    }
    if !first.is_ascii_lowercase() {
        return Err(SlugError::Start { what, text: text.to_owned() });
    }
    let mut before = first;
    for found in text.chars() {
        let joins = found == joiner && before != joiner;
        if !(found.is_ascii_lowercase() || found.is_ascii_digit() || joins) {
            return Err(SlugError::Character { what, text: text.to_owned(), found, joiner });
        }
        before = found;
    }
    if before == joiner {
        return Err(SlugError::Character { what, text: text.to_owned(), found: joiner, joiner });
    }
    Ok(())
}

macro_rules! slug {
    ($(#[$doc:meta])* $name:ident, $what:literal, $joiner:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(Arc<str>);

        impl $name {
            /// The name as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl FromStr for $name {
            type Err = SlugError;
            fn from_str(text: &str) -> Result<Self, SlugError> {
                check($what, $joiner, text)?;
                Ok(Self(text.into()))
            }
        }

        impl TryFrom<String> for $name {
            type Error = SlugError;
            fn try_from(text: String) -> Result<Self, SlugError> {
                check($what, $joiner, &text)?;
                Ok(Self(text.into()))
            }
        }

        impl From<$name> for String {
            fn from(name: $name) -> String {
                name.0.as_ref().to_owned()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }
    };
}

slug!(
    /// The short name of a vehicle in a garage, such as `wren`; also its branch in the journal.
    Tag,
    "tag",
    '-'
);
slug!(
    /// The role of a control module in a vehicle, such as `body` or `brakes`.
    ModuleName,
    "module name",
    '_'
);
slug!(
    /// The name of a setting within its module, such as `lane_change_flashes`.
    SettingName,
    "setting name",
    '_'
);
slug!(
    /// The name of a definition, such as `merl-body-2`.
    DefinitionId,
    "definition name",
    '-'
);
slug!(
    /// The name of a rule between settings, within its definition.
    RuleName,
    "rule name",
    '-'
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accepts_short_names() {
        for text in ["wren", "w", "wren-2", "a-b-c"] {
            assert_eq!(text.parse::<Tag>().unwrap().as_str(), text);
        }
        assert_eq!("lane_change_flashes".parse::<SettingName>().unwrap().to_string(), "lane_change_flashes");
    }

    #[test]
    fn refuses_what_could_not_be_a_branch_or_a_file_name() {
        for text in ["", "-a", "a-", "a--b", "A", "ä", "a b", "a/b", "..", "2wren", "a_b", "a.lock", "a\0"] {
            assert!(text.parse::<Tag>().is_err(), "{text:?}");
        }
        assert!("a".repeat(65).parse::<Tag>().is_err());
    }
}
