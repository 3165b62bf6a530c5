//! The status byte of a trouble code.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A text that is no status byte.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid status byte `{0}` (expected two hexadecimal digits, as in 2F)")]
pub struct StatusError(String);

/// The status byte of a trouble code, with the eight named bits of ISO 14229-1.
///
/// Names as given by udsoncan 1.26.1 and scapy; the standard's own text was not seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct CodeStatus(pub u8);

impl CodeStatus {
    /// The names of bits 0 to 7.
    pub const NAMES: [&'static str; 8] = [
        "testFailed",
        "testFailedThisOperationCycle",
        "pendingDTC",
        "confirmedDTC",
        "testNotCompletedSinceLastClear",
        "testFailedSinceLastClear",
        "testNotCompletedThisOperationCycle",
        "warningIndicatorRequested",
    ];

    /// The names of the bits that are set, lowest first.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        Self::NAMES.into_iter().enumerate().filter(move |(bit, _)| self.0 >> bit & 1 == 1).map(|(_, name)| name)
    }
}

impl FromStr for CodeStatus {
    type Err = StatusError;
    fn from_str(text: &str) -> Result<Self, StatusError> {
        if text.len() == 2 && text.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Ok(Self(u8::from_str_radix(text, 16).expect("two hexadecimal digits fit a byte")));
        }
        Err(StatusError(text.chars().take(16).collect()))
    }
}

impl TryFrom<String> for CodeStatus {
    type Error = StatusError;
    fn try_from(text: String) -> Result<Self, StatusError> {
        text.parse()
    }
}

impl From<CodeStatus> for String {
    fn from(status: CodeStatus) -> String {
        status.to_string()
    }
}

impl fmt::Display for CodeStatus {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{:02X}", self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_its_bits() {
        let status: CodeStatus = "2F".parse().unwrap();
        assert_eq!(
            status.names().collect::<Vec<_>>(),
            ["testFailed", "testFailedThisOperationCycle", "pendingDTC", "confirmedDTC", "testFailedSinceLastClear"]
        );
        assert_eq!(status.to_string(), "2F");
        assert!("2".parse::<CodeStatus>().is_err() && "+F".parse::<CodeStatus>().is_err());
    }
}
