//! What a log of the diagnostic bus showed of the work on a vehicle.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;
use time::OffsetDateTime;

use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::value::HexBytes;

/// A text that is no digest of a log.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{0}` is no SHA-256: 64 lower-case hexadecimal digits are needed")]
pub struct LogDigestError(String);

/// The SHA-256 of a log's file as it was: 64 lower-case hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct LogDigest(String);

impl LogDigest {
    /// The digest as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for LogDigest {
    type Error = LogDigestError;
    fn try_from(text: String) -> Result<Self, LogDigestError> {
        let digit = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
        if text.len() == 64 && text.bytes().all(digit) {
            Ok(Self(text))
        } else {
            Err(LogDigestError(text.chars().take(80).collect()))
        }
    }
}

impl From<LogDigest> for String {
    fn from(digest: LogDigest) -> String {
        digest.0
    }
}

impl fmt::Display for LogDigest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// One log that was looked into.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WitnessedLog {
    /// The name of its file.
    pub name: String,
    /// The SHA-256 of its file.
    pub sha256: LogDigest,
    /// How many bytes its file has.
    pub bytes: u64,
    /// The first moment in it, by its own clock; nothing where it tells no time.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "time::serde::rfc3339::option")]
    pub first: Option<OffsetDateTime>,
    /// The last moment in it.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "time::serde::rfc3339::option")]
    pub last: Option<OffsetDateTime>,
}

/// Where a module speaks on the bus.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BusPlace {
    /// Where it is asked: identifiers as `7E0`, with an address byte `6F1/12`, or a logical address on IP as `IP 0E00`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub asked: Vec<String>,
    /// Where it answers, likewise.
    pub answers: String,
}

/// What came of a write.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum WireAnswer {
    /// The module answered that it is written.
    Accepted,
    /// The module refused.
    Refused,
    /// No answer is in the log.
    None,
}

impl fmt::Display for WireAnswer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Accepted => "accepted",
            Self::Refused => "refused",
            Self::None => "no answer in the log",
        })
    }
}

/// One write of a record, with what was read before and after it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireWrite {
    /// The module.
    pub module: ModuleName,
    /// The record.
    pub record: RecordName,
    /// When, to the millisecond; nothing where the log tells no time.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "time::serde::rfc3339::option")]
    pub at: Option<OffsetDateTime>,
    /// What was read last before it; nothing where the log does not show it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<HexBytes>,
    /// What was written; nothing where the request is not in the log.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub written: Option<HexBytes>,
    /// What came of it.
    pub answer: WireAnswer,
    /// The negative response code, where the module refused.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refusal: Option<HexBytes>,
    /// What was read first after it and before the next write; nothing where it was not read again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_back: Option<HexBytes>,
    /// The change or put-back that recorded it; nothing where no entry did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry: Option<EntryNumber>,
    /// The reading in which it shows, where no entry recorded it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown_by: Option<EntryNumber>,
}

impl WireWrite {
    /// Whether the read-back shows what was written; nothing where one of the two is not known.
    pub fn read_back_agrees(&self) -> Option<bool> {
        Some(self.read_back.as_ref()? == self.written.as_ref()?)
    }
}

/// Something else that was done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireAction {
    /// The module.
    pub module: ModuleName,
    /// When, to the millisecond.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "time::serde::rfc3339::option")]
    pub at: Option<OffsetDateTime>,
    /// What, in words.
    pub what: String,
    /// What came of it.
    pub answer: WireAnswer,
}

/// What logs of the diagnostic bus showed.
///
/// It moves nothing in what is known of the vehicle; readings and changes that were made of the logs are entries of their own.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WitnessBody {
    /// How many milliseconds the journal's times are later than the logs'; nothing where nothing tells it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub journal_later_ms: Option<i64>,
    /// By how many milliseconds the logs' times were put later in what was made of them; nothing where they stand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub put_later_ms: Option<i64>,
    /// The entries that were made of the logs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub filed: Vec<EntryNumber>,
    /// The logs.
    pub logs: Vec<WitnessedLog>,
    /// Where each module speaks.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub modules: BTreeMap<ModuleName, Vec<BusPlace>>,
    /// The writes, in their order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub writes: Vec<WireWrite>,
    /// What else was done, in its order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub actions: Vec<WireAction>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digests_have_one_spelling() {
        let good = "0123456789abcdef".repeat(4);
        assert_eq!(LogDigest::try_from(good.clone()).unwrap().as_str(), good);
        for wrong in [good.to_uppercase(), good[1..].to_owned(), format!("{good}0"), String::new()] {
            assert!(LogDigest::try_from(wrong.clone()).is_err(), "{wrong:?}");
        }
    }
}
