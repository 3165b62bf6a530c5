//! Languages of printed matter: words, sentences, numbers and dates.
//!
//! Every text stands beside its translations in one table, so that a text that one language lacks does not compile.

mod numbers;
mod phrases;
mod terms;
mod words;

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

pub(crate) use numbers::Numbers;

/// A word that names no language of printed matter.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("unknown language `{0}` (expected en or de)")]
pub struct UnknownLanguage(String);

/// A language of printed matter.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// English, as written in Britain.
    #[default]
    En,
    /// German.
    De,
}

impl Language {
    /// The languages that are printed.
    pub const ALL: [Self; 2] = [Self::En, Self::De];

    /// The tag by which HTML and PDF name it (BCP 47).
    pub fn tag(self) -> &'static str {
        match self {
            Self::En => "en-GB",
            Self::De => "de",
        }
    }

    /// The language of a locale as the environment writes it, as in `de_AT.UTF-8`.
    pub fn of_locale(locale: &str) -> Option<Self> {
        let language = locale.split(['_', '.', '@', '-']).next()?;
        language.parse().ok()
    }
}

impl FromStr for Language {
    type Err = UnknownLanguage;
    fn from_str(text: &str) -> Result<Self, UnknownLanguage> {
        match text {
            "en" => Ok(Self::En),
            "de" => Ok(Self::De),
            _ => Err(UnknownLanguage(text.chars().take(24).collect())),
        }
    }
}

impl fmt::Display for Language {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::En => "en",
            Self::De => "de",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn locales_name_their_language() {
        assert_eq!(Language::of_locale("de_AT.UTF-8"), Some(Language::De));
        assert_eq!(Language::of_locale("en"), Some(Language::En));
        for other in ["", "C", "C.UTF-8", "fr_FR", "german"] {
            assert_eq!(Language::of_locale(other), None, "{other}");
        }
        for language in Language::ALL {
            assert_eq!(language.to_string().parse(), Ok(language));
        }
    }
}
