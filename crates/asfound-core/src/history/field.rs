//! Fields and their transitions.

use std::fmt;

use super::Proof;
use crate::difference::{AlteredBits, Content};
use crate::names::{EntryNumber, ModuleName, RecordName, SettingPath};
use crate::value::BitMask;

/// The smallest thing that is altered, proven and put back on its own.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    /// A setting.
    Setting(SettingPath),
    /// Bits of a record that no definition names and that entries changed together;
    /// groups that overlap are one field.
    Undeclared {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
        /// The bits.
        mask: BitMask,
    },
}

impl Field {
    /// The field with what became of it, as far as its own name does not say what it is: of bits without a name, which
    /// ones differ and what they held and hold (`body:2001 byte 3 bit 2: 0 to 1`). Of a setting its name.
    pub fn altered(&self, found: Option<&Content>, left: Option<&Content>) -> String {
        match self {
            Self::Setting(path) => path.to_string(),
            Self::Undeclared { module, record, mask } => {
                let bits = AlteredBits::of(mask, found.and_then(Content::bytes), left.and_then(Content::bytes));
                format!("{module}:{record} {bits}")
            }
        }
    }

    /// The module that the field is in.
    pub fn module(&self) -> &ModuleName {
        match self {
            Self::Setting(path) => &path.module,
            Self::Undeclared { module, .. } => module,
        }
    }
}

impl fmt::Display for Field {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Setting(path) => path.fmt(f),
            Self::Undeclared { module, record, mask } => f.pad(&format!("{module}:{record} {mask} (undeclared)")),
        }
    }
}

/// What another hand did, as far as a reading can tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HandKind {
    /// Part number, hardware or serial of the module differ: it is another unit.
    UnitSwapped,
    /// A unit that was there before is back, and holds what it held then.
    UnitReturned,
    /// The module's software differs.
    SoftwareUpdated,
    /// The module is the same; settings were altered.
    SettingsAltered,
}

impl fmt::Display for HandKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::UnitSwapped => "unit swapped",
            Self::UnitReturned => "earlier unit returned",
            Self::SoftwareUpdated => "software updated",
            Self::SettingsAltered => "settings altered",
        })
    }
}

/// Where a transition comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// The first that the journal knows of the field.
    FirstKnown,
    /// Work that the journal recorded.
    Work,
    /// A reading shows it and no entry accounts for it.
    AnotherHand(HandKind),
    /// A reading shows something else than the change in this entry left.
    Contradicts(EntryNumber),
    /// A reading shows something else than what was known, and nobody can say whether somebody altered it.
    CannotTell(Doubt),
}

/// Why nothing is concluded from what a reading shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Doubt {
    /// Which of two moments was earlier is not known.
    Order,
    /// The two contents cannot be compared, so they may be the same.
    Comparison,
    /// No definition names the bits, and nothing shows whether they are a setting or a value that the module measures.
    SettingOrMeasured,
    /// The unit was out of the vehicle, or its place in time is not known.
    Unit,
}

impl Doubt {
    /// A word for it, for programs.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Order => "order",
            Self::Comparison => "comparison",
            Self::SettingOrMeasured => "setting-or-measured",
            Self::Unit => "unit",
        }
    }
}

/// One step in the life of a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Transition {
    /// The entry that tells of it.
    pub entry: EntryNumber,
    /// Where it comes from.
    pub origin: Origin,
    /// What the field held; nothing when that is not known.
    pub found: Option<Content>,
    /// What it holds since.
    pub left: Content,
    /// How well readings prove it, where it is work.
    pub proof: Option<Proof>,
}
