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
#[error("invalid SHA-256 `{0}` (expected 64 lower-case hexadecimal digits)")]
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
pub struct FiledLog {
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

/// Something small in a log that was mended, so that a write could be made out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mending {
    /// A part of the request is missing from the log, see [`WireGap`]; the read-back tells the bytes.
    PartMissing,
    /// The whole request is missing from the log; the read-back tells the bytes.
    RequestMissing,
    /// Frames of one moment stood in an order in which they cannot have come.
    OutOfOrder,
    /// A message went on in the next log.
    AcrossLogs,
    /// Frames stood in the log twice.
    Doubled,
}

/// A hole in what was written: the bytes on its two sides.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireGap {
    /// The bytes before the hole.
    pub before: HexBytes,
    /// How many bytes are missing.
    pub missing: u32,
    /// The bytes behind it; nothing where the end is missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<HexBytes>,
}

impl WireGap {
    /// Whether bytes are the same on both sides of the hole, and as many.
    pub fn fits(&self, bytes: &HexBytes) -> bool {
        let (before, after) = (self.before.as_slice(), self.after.as_ref().map_or(&[][..], HexBytes::as_slice));
        let length = before.len().saturating_add(after.len()).saturating_add(self.missing as usize);
        let bytes = bytes.as_slice();
        bytes.len() == length && bytes.starts_with(before) && bytes.ends_with(after)
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
    /// Who asked: where on the bus, as in [`BusPlace::asked`]; nothing where it cannot be told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tester: Option<String>,
    /// Whoever filed the log says that it was their own work, and no change of it could be filed.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub own: bool,
    /// What in the log was mended to make it out, sorted; nothing where all of it is whole.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub mended: Vec<Mending>,
    /// What of the request is in the log, where a part of it is missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gap: Option<WireGap>,
}

impl WireWrite {
    /// A write with this answer, of which nothing else is known.
    pub fn new(module: ModuleName, record: RecordName, answer: WireAnswer) -> Self {
        Self {
            module,
            record,
            at: None,
            found: None,
            written: None,
            answer,
            refusal: None,
            read_back: None,
            entry: None,
            shown_by: None,
            tester: None,
            own: false,
            mended: Vec::new(),
            gap: None,
        }
    }

    /// Whether the read-back shows what was written; nothing where one of the two is not known.
    pub fn read_back_agrees(&self) -> Option<bool> {
        let read_back = self.read_back.as_ref()?;
        match (&self.written, &self.gap) {
            (Some(written), _) => Some(read_back == written),
            (None, Some(gap)) => Some(gap.fits(read_back)),
            (None, None) => None,
        }
    }

    /// The bytes that an accepted write left: those that were written, or, where they are not in the log, those that were read
    /// back and do not speak against what is.
    pub fn left(&self) -> Option<&HexBytes> {
        let told = || self.read_back.as_ref().filter(|_| self.read_back_agrees() != Some(false));
        self.written.as_ref().or_else(told).filter(|_| self.answer == WireAnswer::Accepted)
    }

    /// Whether both are of one record of one module.
    pub fn same_record(&self, other: &Self) -> bool {
        (&self.module, &self.record) == (&other.module, &other.record)
    }
}

/// What the record of a write held before it, as far as the writes of a log tell: what the write before it left, or what was
/// read since then.
pub fn held_before(writes: &[WireWrite], place: usize) -> Option<&HexBytes> {
    let write = writes.get(place)?;
    for (at, earlier) in writes[..place].iter().enumerate().rev().filter(|(_, earlier)| earlier.same_record(write)) {
        // What is read after a write and before the next was read last before that one.
        if earlier.read_back.is_some() {
            break;
        }
        match earlier.answer {
            WireAnswer::Refused => {}
            WireAnswer::Accepted => return earlier.left(),
            // Whether it was made makes no difference to what the same write made again.
            WireAnswer::None if earlier.written.is_some() && earlier.written == write.written => {
                return held_before(writes, at);
            }
            WireAnswer::None => return None,
        }
    }
    write.found.as_ref()
}

/// Whether a write altered its record, as far as the writes of a log tell; nothing where they do not.
pub fn altered(writes: &[WireWrite], place: usize) -> Option<bool> {
    let write = writes.get(place)?;
    match write.answer {
        WireAnswer::Refused => Some(false),
        WireAnswer::Accepted => Some(held_before(writes, place)? != write.left()?),
        WireAnswer::None => {
            let (before, again) = (held_before(writes, place)?, write.read_back.as_ref()?);
            Some(before != again)
        }
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

/// Bits of a record that were read otherwise than just before, although the log shows no write in between.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireMovement {
    /// The module.
    pub module: ModuleName,
    /// The record.
    pub record: RecordName,
    /// The bits, as a mask with one byte for each byte of the record.
    pub bits: HexBytes,
    /// How often the record was read otherwise than just before.
    pub times: u32,
    /// When it was first read with what it held before it moved; nothing where the log tells no time.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "time::serde::rfc3339::option")]
    pub from: Option<OffsetDateTime>,
    /// When it was last read otherwise.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "time::serde::rfc3339::option")]
    pub until: Option<OffsetDateTime>,
}

/// What logs of the diagnostic bus showed.
///
/// It moves nothing in what is known of the vehicle; readings and changes that were made of the logs are entries of their own.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BusLogBody {
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
    pub logs: Vec<FiledLog>,
    /// Where each module speaks.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub modules: BTreeMap<ModuleName, Vec<BusPlace>>,
    /// The writes, in their order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub writes: Vec<WireWrite>,
    /// What else was done, in its order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub actions: Vec<WireAction>,
    /// Bits that changed without a write.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub moved: Vec<WireMovement>,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn write(answer: WireAnswer, [found, written, read_back]: [Option<u8>; 3]) -> WireWrite {
        let bytes = |byte: Option<u8>| byte.map(|byte| HexBytes::from(vec![byte]));
        let write = WireWrite::new("body".parse().unwrap(), RecordName::Identifier(0x0D01), answer);
        WireWrite { found: bytes(found), written: bytes(written), read_back: bytes(read_back), ..write }
    }

    #[test]
    fn a_write_is_judged_against_the_write_before_it() {
        use WireAnswer::{Accepted, None as Unanswered, Refused};
        let altered = |writes: &[WireWrite]| (0..writes.len()).map(|at| super::altered(writes, at)).collect::<Vec<_>>();
        let [a, b] = [Some(1), Some(2)];
        // The same bytes again; there and back unread.
        assert_eq!(altered(&[write(Accepted, [a, b, None]), write(Accepted, [a, b, b])]), [Some(true), Some(false)]);
        assert_eq!(altered(&[write(Accepted, [a, b, None]), write(Accepted, [a, a, a])]), [Some(true), Some(true)]);
        // What was read between counts, and what was refused does not.
        assert_eq!(altered(&[write(Accepted, [a, b, a]), write(Accepted, [a, a, None])]), [Some(true), Some(false)]);
        assert_eq!(altered(&[write(Refused, [a, b, None]), write(Accepted, [a, b, b])]), [Some(false), Some(true)]);
        // The first try had no answer: the two altered it once.
        assert_eq!(altered(&[write(Unanswered, [a, b, None]), write(Accepted, [a, b, b])]), [None, Some(true)]);
        // Whether the first was made is not known, so neither is what the second altered.
        assert_eq!(altered(&[write(Unanswered, [a, b, None]), write(Accepted, [a, a, a])]), [None, None]);
        assert_eq!(altered(&[write(Accepted, [None, b, None])]), [None]);
    }

    #[test]
    fn a_gap_fits_what_is_the_same_on_its_sides() {
        let hex = |bytes: &[u8]| HexBytes::from(bytes.to_vec());
        let gap = WireGap { before: hex(&[1, 2]), missing: 2, after: Some(hex(&[5])) };
        assert!(gap.fits(&hex(&[1, 2, 9, 9, 5])));
        for wrong in [&[1, 2, 9, 9, 6][..], &[1, 3, 9, 9, 5], &[1, 2, 9, 5], &[1, 2, 5], &[]] {
            assert!(!gap.fits(&hex(wrong)), "{wrong:?}");
        }
        let huge = WireGap { missing: u32::MAX, ..gap };
        assert!(!huge.fits(&hex(&[1, 2, 5])));
    }

    #[test]
    fn digests_have_one_spelling() {
        let good = "0123456789abcdef".repeat(4);
        assert_eq!(LogDigest::try_from(good.clone()).unwrap().as_str(), good);
        for wrong in [good.to_uppercase(), good[1..].to_owned(), format!("{good}0"), String::new()] {
            assert!(LogDigest::try_from(wrong.clone()).is_err(), "{wrong:?}");
        }
    }
}
