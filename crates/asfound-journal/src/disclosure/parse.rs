//! Reads the file.

use serde::Deserialize;
use thiserror::Error;

use super::{DISCLOSURE_FORMAT, Disclosure};
use crate::manifest::MANIFEST_PATH;

/// Why a text is no disclosure.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DisclosureError {
    /// It is no TOML, or not of this form.
    #[error("this is not a disclosure: {0}")]
    Form(String),
    /// It is of a version that this program does not know.
    #[error("the file has the format `{0}`, a disclosure has `{DISCLOSURE_FORMAT}`")]
    Version(String),
}

#[derive(Deserialize)]
struct Version {
    format: String,
}

impl Disclosure {
    /// Reads a disclosure; whether it is true is for [`check`](Self::check).
    ///
    /// Line ends that mail programs put in do not matter, because contents state theirs in escapes.
    pub fn parse(text: &str) -> Result<Self, DisclosureError> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text).replace("\r\n", "\n");
        let form = |error: toml::de::Error| DisclosureError::Form(error.to_string());
        let version: Version = toml::from_str(&text).map_err(form)?;
        if version.format != DISCLOSURE_FORMAT {
            return Err(DisclosureError::Version(version.format.chars().take(80).collect()));
        }
        let disclosure: Self = toml::from_str(&text).map_err(form)?;
        match disclosure.disorder() {
            Some(what) => Err(DisclosureError::Form(what)),
            None => Ok(disclosure),
        }
    }

    /// What keeps it from having one reading only.
    fn disorder(&self) -> Option<String> {
        if self.entries.is_empty() {
            return Some("it shows no entry".to_owned());
        }
        if !self.entries.is_sorted_by(|a, b| a.number < b.number) {
            return Some("its entries must be in order, each once".to_owned());
        }
        for entry in &self.entries {
            let number = entry.number;
            let files = &entry.files;
            if let Some(file) = files.iter().find(|file| file.line == 0 || file.line > entry.lines.len()) {
                return Some(format!("entry {number} has no line {} for {}", file.line, file.path));
            }
            if !files.is_sorted_by(|a, b| a.line < b.line && a.path < b.path) {
                return Some(format!(
                    "the files of entry {number} must be in the order of their lines and paths, each once"
                ));
            }
            if files.iter().any(|file| file.path.as_str() == MANIFEST_PATH) {
                return Some(format!("entry {number}: no manifest lists itself"));
            }
        }
        None
    }
}
