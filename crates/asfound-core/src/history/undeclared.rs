//! Changes of bits that no definition names, and the groups that they form.

use std::collections::BTreeMap;
use std::sync::Arc;

use time::OffsetDateTime;

use super::chain::{ContentSource, FieldObservation};
use super::corrections::Corrections;
use super::{Doubt, Field};
use crate::definition::Definition;
use crate::difference::Content;
use crate::identity::Identity;
use crate::movement::Movements;
use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::value::{BitMask, HexBytes};

/// A change of undeclared bits of one record.
#[derive(Debug, Clone)]
pub(super) struct BitChange {
    pub(super) entry: EntryNumber,
    pub(super) source: ContentSource,
    pub(super) mask: BitMask,
    pub(super) found: HexBytes,
    pub(super) left: HexBytes,
    /// What work is told to have found, where entries are told in the order of their moments.
    pub(super) told: Option<HexBytes>,
    pub(super) unit: usize,
    /// The last moment at which it can have happened.
    pub(super) at: OffsetDateTime,
    /// What the module was then.
    pub(super) identity: Arc<Identity>,
}

/// The bits of a change that count: those that move by themselves are left out of what a reading shows.
struct CountedBits {
    /// Bits that are settings as far as anybody knows, and those of work.
    settings: BitMask,
    /// Bits that may be settings or measured values.
    unclear: BitMask,
}

/// The changes of one record, apart for each layout that it has had: places mean the same only under one layout.
#[derive(Debug, Clone, Default)]
struct RecordChanges {
    layouts: Vec<Vec<BitChange>>,
}

/// The changes of undeclared bits of every record.
#[derive(Debug, Clone, Default)]
pub(super) struct UndeclaredBits(BTreeMap<(ModuleName, RecordName), RecordChanges>);

impl UndeclaredBits {
    /// From here on the record is laid out otherwise.
    pub(super) fn change_layout(&mut self, key: &(ModuleName, RecordName)) {
        if let Some(record) = self.0.get_mut(key) {
            record.layouts.push(Vec::new());
        }
    }

    pub(super) fn push(&mut self, key: &(ModuleName, RecordName), mut change: BitChange) {
        let record = self.0.entry(key.clone()).or_default();
        match record.layouts.last_mut() {
            Some(changes) => {
                // What the one left and the next found is mostly the same, and kept once then.
                if let Some(before) = changes.last().filter(|before| before.left == change.found) {
                    change.found = before.left.clone();
                }
                if let Some(before) = changes.last().filter(|before| before.identity == change.identity) {
                    change.identity = Arc::clone(&before.identity);
                }
                changes.push(change);
            }
            None => record.layouts.push(vec![change]),
        }
    }

    /// Joins overlapping groups into fields, with what each entry says of them, in the order of the entries. One record
    /// after the other, so that there is never more at hand than one record's.
    pub(super) fn into_fields(
        self,
        corrections: &Corrections,
        movements: &Movements,
    ) -> impl Iterator<Item = (Field, Vec<FieldObservation>)> {
        self.0
            .into_iter()
            .flat_map(move |((module, record), of_record)| of_record.fields(&module, &record, corrections, movements))
    }
}

impl RecordChanges {
    fn fields(
        self,
        module: &ModuleName,
        record: &RecordName,
        corrections: &Corrections,
        movements: &Movements,
    ) -> BTreeMap<Field, Vec<FieldObservation>> {
        let mut fields: BTreeMap<Field, Vec<FieldObservation>> = BTreeMap::new();
        for changes in self.layouts {
            let counted: Vec<CountedBits> =
                changes.iter().map(|change| counted(change, (module, record), movements)).collect();
            // Neither work that was never made nor its correction makes a group.
            let mut groups = MaskGroups::default();
            for (change, counted) in changes.iter().zip(&counted) {
                if change.source.answers(change.entry, corrections).is_some() {
                    groups.join(&altered_together(change, &counted.settings, &changes));
                    groups.join(&counted.unclear);
                }
            }
            let mut of_group: Vec<Vec<FieldObservation>> = groups.masks.iter().map(|_| Vec::new()).collect();
            for (change, counted) in changes.iter().zip(&counted) {
                let mut all = counted.settings.clone();
                all.add(&counted.unclear);
                // Work that is told in the order of the moments wrote what stands beside its bits as well.
                let met = if change.told.is_some() { (0..groups.masks.len()).collect() } else { groups.met(&all) };
                for at in met {
                    let mask = &groups.masks[at];
                    let unclear = !mask.overlaps(&counted.settings);
                    of_group[at].push(FieldObservation {
                        entry: change.entry,
                        source: change.source,
                        found: Some(Content::bits(mask, &change.found)),
                        left: Content::bits(mask, &change.left),
                        told: change.told.as_ref().map(|told| Content::bits(mask, told)),
                        unit: change.unit,
                        doubt: unclear.then_some(Doubt::SettingOrMeasured),
                    });
                }
            }
            for (mask, observed) in groups.masks.into_iter().zip(of_group).filter(|(mask, _)| !mask.is_empty()) {
                let field = Field::Undeclared { module: module.clone(), record: record.clone(), mask };
                fields.entry(field).or_default().extend(observed);
            }
        }
        fields
    }
}

/// The bits that differ between two contents of a record and that no definition names: those of
/// [`crate::difference::differ`], without working out what the settings mean.
pub(super) fn undeclared_in(
    record: &RecordName,
    definition: Option<&Definition>,
    found: &HexBytes,
    left: &HexBytes,
) -> BitMask {
    let mut mask = BitMask::differing(found.as_slice(), left.as_slice());
    if let Some(layout) = definition.and_then(|definition| definition.record(record)) {
        mask.remove(layout.named());
        mask.remove(layout.volatile());
        layout.checksum().into_iter().for_each(|checksum| mask.remove(&checksum.mask(layout.length())));
    }
    mask
}

/// Whether two contents differ in nothing but a checksum and bits that a definition says change by themselves.
pub(super) fn is_declared_volatile(
    record: &RecordName,
    definition: Option<&Definition>,
    found: &HexBytes,
    left: &HexBytes,
) -> bool {
    let Some(layout) = definition.and_then(|definition| definition.record(record)) else { return false };
    let differing = BitMask::differing(found.as_slice(), left.as_slice());
    let mut rest = differing.clone().without(layout.volatile());
    layout.checksum().into_iter().for_each(|checksum| rest.remove(&checksum.mask(layout.length())));
    !differing.is_empty() && rest.is_empty()
}

/// Sorts the bits of what a reading shows. What somebody wrote or corrected counts as it is.
fn counted(change: &BitChange, of: (&ModuleName, &RecordName), movements: &Movements) -> CountedBits {
    match change.source {
        ContentSource::Reading(_) => {
            let sorted = movements.sort(of, &change.identity, &change.mask, Some(change.at));
            CountedBits { settings: sorted.settings, unclear: sorted.unclear }
        }
        ContentSource::Work | ContentSource::Correction(_) => {
            CountedBits { settings: change.mask.clone(), unclear: BitMask::none(change.mask.len()) }
        }
    }
}

/// The bits of a change, and with those of a correction the ones of the change that it corrects: one entry altered them all.
fn altered_together(change: &BitChange, mask: &BitMask, changes: &[BitChange]) -> BitMask {
    let mut mask = mask.clone();
    if let ContentSource::Correction(corrects) = change.source {
        changes.iter().filter(|other| other.entry == corrects).for_each(|other| mask.add(&other.mask));
    }
    mask
}

/// Masks that were joined where they overlap, so that none do.
#[derive(Default)]
struct MaskGroups {
    /// One that was joined to another is empty.
    masks: Vec<BitMask>,
    /// Which group has a bit, for every bit of a record, those of a byte behind each other from the least significant one.
    of_bit: Vec<Option<usize>>,
}

impl MaskGroups {
    fn join(&mut self, mask: &BitMask) {
        if mask.is_empty() {
            return;
        }
        let met = self.met(mask);
        let at = met.first().copied().unwrap_or(self.masks.len());
        if at == self.masks.len() {
            self.masks.push(BitMask::none(mask.len()));
        }
        for joined in met.into_iter().skip(1) {
            let joined = std::mem::take(&mut self.masks[joined]);
            self.give(at, &joined);
        }
        self.give(at, mask);
    }

    fn give(&mut self, at: usize, mask: &BitMask) {
        self.masks[at].add(mask);
        self.of_bit.resize(self.of_bit.len().max(mask.len() * 8), None);
        for bit in places(mask) {
            self.of_bit[bit] = Some(at);
        }
    }

    /// The groups that a mask overlaps.
    fn met(&self, mask: &BitMask) -> Vec<usize> {
        let mut met = Vec::new();
        for at in places(mask).filter_map(|bit| self.of_bit.get(bit).copied().flatten()) {
            if !met.contains(&at) {
                met.push(at);
            }
        }
        met
    }
}

fn places(mask: &BitMask) -> impl Iterator<Item = usize> + '_ {
    mask.bits().map(|(at, bit)| at * 8 + usize::from(bit))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::difference::differ;

    /// As it is said: as long as two overlap, they become one.
    fn joined(mut masks: Vec<BitMask>) -> Vec<BitMask> {
        let pairs = |masks: &[BitMask]| {
            (0..masks.len())
                .flat_map(|a| (a + 1..masks.len()).map(move |b| (a, b)).collect::<Vec<_>>())
                .find(|(a, b)| masks[*a].overlaps(&masks[*b]))
        };
        while let Some((a, b)) = pairs(&masks) {
            let other = masks.swap_remove(b);
            masks[a].add(&other);
        }
        masks.sort();
        masks
    }

    proptest! {
        #[test]
        fn masks_are_joined_until_none_overlap(
            all in proptest::collection::vec(proptest::collection::vec(
                prop_oneof![4 => Just(0_u8), 2 => (0..8_u8).prop_map(|bit| 1 << bit), 1 => any::<u8>()], 1..5), 0..12),
        ) {
            // A change alters something.
            let all = all.iter().filter(|bytes| bytes.iter().any(|byte| *byte != 0));
            let all: Vec<BitMask> = all.map(|bytes| BitMask::differing(bytes, &vec![0; bytes.len()])).collect();
            let mut groups = MaskGroups::default();
            all.iter().for_each(|mask| groups.join(mask));
            let expected = joined(all.clone());
            for mask in &all {
                let [at] = groups.met(mask)[..] else { panic!("{mask} is in one group") };
                prop_assert_eq!(groups.masks[at].common(mask).count(), mask.count());
            }
            let mut found: Vec<BitMask> = groups.masks.into_iter().filter(|mask| !mask.is_empty()).collect();
            found.sort();
            prop_assert_eq!(found, expected);
        }
    }

    /// Every change of one byte, and of the length, in a record with settings, a volatile byte, a checksum and spare bits.
    #[test]
    fn bits_without_a_name_are_those_that_a_difference_has() {
        let text = "format = \"asfound-definition/1\"\nid = \"t\"\ntitle = \"T\"\n[applies_to]\nmodule = \"body\"\n\
                    [records.0D01]\nlabel = \"R\"\nlength = 4\nvolatile = [\"2\"]\n\
                    checksum = { at = 3, over = \"0-1\", kind = \"sum\" }\n\
                    [settings.a]\nlabel = \"A\"\nrecord = \"0D01\"\nbyte = 0\nbit = 2\nbits = 3\ntype = \"integer\"\ntags = [\"comfort\"]\n";
        let definition = Definition::parse(text).unwrap().definition;
        let record: RecordName = "0D01".parse().unwrap();
        let found = HexBytes::from(vec![0x5A; 4]);
        for at in 0..4 {
            for change in 1..=0xFF_u8 {
                let mut left = vec![0x5A; 4];
                left[at] ^= change;
                for left in [left.clone(), left[..2].to_vec(), [&left[..], &[1]].concat()] {
                    let left = HexBytes::from(left);
                    for definition in [Some(&definition), None] {
                        let expected = differ(&record, definition, found.as_slice(), left.as_slice()).undeclared;
                        assert_eq!(undeclared_in(&record, definition, &found, &left), expected);
                    }
                }
            }
        }
    }
}
