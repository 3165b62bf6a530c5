//! What several schemas have in common.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;

/// Who filed an entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Author {
    /// The name.
    pub name: String,
    /// The e-mail address, where one was given.
    pub email: Option<String>,
}

/// The head of an entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EntryHead {
    /// Its number, from 1.
    pub number: u32,
    /// `enrolled`, `reading`, `change`, `put-back`, `correction`, `note`, `order-opened`, `order-extended`, `order-closed`
    /// or `file-log`.
    pub kind: String,
    /// What it tells, in one line.
    pub headline: String,
    /// When it was filed (RFC 3339).
    pub recorded: String,
    /// When what it tells of happened (RFC 3339).
    pub happened: String,
    /// How exactly that is known: `second`, `day`, `month` or `year`.
    pub precision: String,
    /// Who filed it.
    pub author: Author,
    /// Why.
    pub why: String,
}

/// What a field holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Content {
    /// As people see it.
    pub text: String,
    /// Typed: true or false for a switch, a number for an integer of at most 53 bits, text for everything else;
    /// nothing where no definition gives it a meaning.
    pub value: Option<Value>,
    /// The coded bits in hexadecimal, where bytes are known.
    pub coded: Option<String>,
    /// The definition that explains it, where bytes are known.
    pub definition: Option<String>,
    /// Of bits that no definition names, which ones it is about; `text` has the whole record then.
    pub bits: Option<Vec<Bits>>,
}

/// Bits next to each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bits {
    /// The first byte, from 0.
    pub byte: usize,
    /// The lowest bit, from 0 for the least significant; 0 for whole bytes.
    pub bit: u8,
    /// How many bits: at most 8, or a multiple of it.
    pub length: usize,
    /// What they hold: whole bytes in hexadecimal, fewer bits one digit for each; nothing where the record is shorter.
    pub value: Option<String>,
}

/// Bits of a record that no definition names and that were seen to change without a write.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moving {
    /// The bits, in words; empty when there are none.
    pub bits: String,
    /// Those of them that differ, in words.
    pub differing: String,
    /// How often the record was seen to change in these bits.
    pub times_seen: u32,
    /// The entries that show it: of bus logs, and of readings of one sitting.
    pub shown_by: Vec<u32>,
}

/// How well an alteration is proven.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Proof {
    /// `stated`, `read-back`, `partly-witnessed`, `witnessed` or `contradicted`.
    pub level: String,
    /// The reading that says so, for `witnessed` and `partly-witnessed` the entry of the bus log; nothing for `stated`.
    pub reading: Option<u32>,
}

/// A write that a bus log shows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OnTheWire {
    /// The entry of the bus log.
    pub entry: u32,
    /// When, to the millisecond (RFC 3339); nothing where the log tells no time.
    pub at: Option<String>,
    /// What in the log was mended: `part-missing`, `request-missing`, `out-of-order`, `across-logs`, `doubled`.
    pub mended: Vec<String>,
}

/// Where a step in the life of a field comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[serde(tag = "from", rename_all = "kebab-case")]
pub enum Origin {
    /// The first that the journal knows of it.
    FirstKnown,
    /// Work that the journal recorded.
    Work,
    /// A reading shows it, and no entry accounts for it.
    AnotherHand {
        /// `unit-swapped`, `software-updated` or `settings-altered`.
        kind: String,
    },
    /// A reading shows something else than recorded work left.
    Contradiction {
        /// The entry of the work.
        of: u32,
    },
    /// A reading shows it, and nobody can tell what brought it about.
    CannotTell {
        /// Why, as a word: `order`, `unit`, `comparison` or `setting-or-measured`.
        doubt: String,
    },
}

/// The signature of an entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signature {
    /// `good`, `unknown`, `bad` or `missing`.
    pub state: String,
    /// What it means: `made`, `read`, `stated` or `released`; nothing where it was not signed.
    pub meaning: Option<String>,
    /// By what name its key is trusted, where it is good.
    pub principal: Option<String>,
    /// Whether that is the name or the address of the entry's author.
    pub by_author: bool,
    /// The fingerprint of the key, where one is known.
    pub key: Option<String>,
    /// What is wrong, where it is unknown or bad.
    pub why: Option<String>,
}

/// That a restricted system is altered knowingly.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Acknowledgement {
    /// The safety tag.
    pub tag: String,
    /// Who acknowledges it.
    pub name: String,
    /// On what grounds.
    pub grounds: String,
}

/// A trouble code as a module gave it. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReportedCode {
    /// The code.
    pub code: String,
    /// The status byte in hexadecimal; absent where it was not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub status: Option<String>,
    /// The format identifier in hexadecimal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub format: Option<String>,
    /// The module's occurrence counter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub occurrences: Option<u32>,
    /// The odometer that the module stored with it, in kilometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odometer_km: Option<u32>,
    /// What the module stored of the moment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub freeze_frame: Option<FreezeFrame>,
}

/// What a module stored of the moment at which it stored a code. Keys without content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FreezeFrame {
    /// The bytes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw: Option<String>,
    /// Values by name, as text.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub values: BTreeMap<String, String>,
}

/// A trouble code that was there before with another status.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StatusChanged {
    /// The code.
    pub code: String,
    /// The status byte before, in hexadecimal.
    pub before: Option<String>,
    /// The status byte after.
    pub after: Option<String>,
}

/// How the trial of a change or put-back stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trial {
    /// `open`, `held`, `not-held` or `taken-over`.
    pub state: String,
    /// The reading that closed it, or the later work that altered the same settings; nothing for `open`.
    pub entry: Option<u32>,
}
