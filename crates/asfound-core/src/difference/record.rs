//! What differs between two contents of one record.

use super::Content;
use crate::definition::Definition;
use crate::layout::Checksum;
use crate::names::{RecordName, SettingName};
use crate::sameness::Incomparable;
use crate::value::BitMask;

/// A setting that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SettingDifference {
    /// The setting.
    pub setting: SettingName,
    /// What it held as found; nothing when it was not known or not there.
    pub found: Option<Content>,
    /// What it holds as left; nothing when it is not known or no longer there.
    pub left: Option<Content>,
}

/// A setting of which nobody can tell whether it differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UndecidedSetting {
    /// The setting.
    pub setting: SettingName,
    /// What it held as found.
    pub found: Content,
    /// What it holds as left.
    pub left: Content,
    /// Why that cannot be compared.
    pub why: Incomparable,
}

/// What differs between two contents of one record under one definition.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RecordDifference {
    /// Settings that differ, by name.
    pub settings: Vec<SettingDifference>,
    /// Bits that differ and that no definition names: neither setting nor checksum nor volatile.
    pub undeclared: BitMask,
    /// Volatile bits that differ: counted, never a verdict.
    pub volatile: BitMask,
    /// Checksum bits that differ.
    pub checksum: BitMask,
    /// Whether the checksum differs although nothing that it covers does: it does not follow from the others then.
    pub checksum_alone: bool,
}

impl RecordDifference {
    /// Whether nothing differs that counts: volatile bits do not, nor does a checksum that follows from others.
    pub fn is_same(&self) -> bool {
        self.alters_nothing() && !self.checksum_alone
    }

    /// Whether neither a setting nor a bit without a name differs.
    pub fn alters_nothing(&self) -> bool {
        self.settings.is_empty() && self.undeclared.is_empty()
    }
}

/// Whether two definitions lay a record out alike: the same length, volatile bytes and checksum, and the
/// same settings at the same places. Then its bits can be compared one by one.
pub fn same_layout(record: &RecordName, found: Option<&Definition>, left: Option<&Definition>) -> bool {
    if found.map(Definition::id) == left.map(Definition::id) {
        return true;
    }
    let places = |definition: Option<&Definition>| {
        let definition = definition?;
        let layout = definition.record(record)?;
        let settings: Vec<_> =
            definition.settings_in(record).map(|setting| (setting.name().clone(), setting.layout().clone())).collect();
        Some((layout.length(), layout.volatile().clone(), layout.checksum().cloned(), settings))
    };
    places(found) == places(left)
}

/// Tells apart what differs between two contents of a record, under the definition that fits both.
///
/// Bits beyond the definition's length, and all bits where there is no definition, are undeclared.
pub fn differ(record: &RecordName, definition: Option<&Definition>, found: &[u8], left: &[u8]) -> RecordDifference {
    let differing = BitMask::differing(found, left);
    let Some((definition, layout)) = definition.and_then(|d| Some((d, d.record(record)?))) else {
        return RecordDifference { undeclared: differing, ..RecordDifference::default() };
    };
    let mut named = BitMask::none(differing.len());
    let mut settings = Vec::new();
    for setting in definition.settings_in(record) {
        named.add(&setting.layout().mask(layout.length()));
        let side = |bytes: &[u8]| Content::decoded(setting, definition.id(), bytes);
        let (a, b) = (side(found), side(left));
        let same = match (&a, &b) {
            (Some(a), Some(b)) => a.same(b),
            (None, None) => true,
            _ => false,
        };
        if !same {
            settings.push(SettingDifference { setting: setting.name().clone(), found: a, left: b });
        }
    }
    let volatile = differing.common(layout.volatile());
    let checksum =
        layout.checksum().map_or_else(BitMask::default, |checksum| differing.common(&checksum.mask(layout.length())));
    let covered = layout.checksum().map_or(&[][..], Checksum::over).iter().cloned().flatten();
    let checksum_alone = !checksum.is_empty() && covered.into_iter().all(|at| differing.byte(at) == 0);
    let mut undeclared = differing;
    for known in [&named, layout.volatile(), &checksum] {
        undeclared.remove(known);
    }
    RecordDifference { settings, undeclared, volatile, checksum, checksum_alone }
}
