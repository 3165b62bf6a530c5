//! Changes of bits that no definition names, and the groups that they form.

use std::collections::BTreeMap;

use super::Field;
use super::chain::{Observed, Source};
use super::corrections::Corrections;
use crate::definition::Definition;
use crate::difference::Content;
use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::value::{BitMask, HexBytes};

/// A change of undeclared bits of one record.
#[derive(Debug, Clone)]
pub(super) struct BitChange {
    pub(super) entry: EntryNumber,
    pub(super) source: Source,
    pub(super) mask: BitMask,
    pub(super) found: HexBytes,
    pub(super) left: HexBytes,
}

/// The changes of one record, apart for each layout that it has had: places mean the same only under one layout.
#[derive(Debug, Clone, Default)]
struct OfRecord {
    layouts: Vec<Vec<BitChange>>,
}

/// The changes of undeclared bits of every record.
#[derive(Debug, Clone, Default)]
pub(super) struct UndeclaredBits(BTreeMap<(ModuleName, RecordName), OfRecord>);

impl UndeclaredBits {
    /// From here on the record is laid out otherwise.
    pub(super) fn relay(&mut self, key: &(ModuleName, RecordName)) {
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
                changes.push(change);
            }
            None => record.layouts.push(vec![change]),
        }
    }

    /// Joins overlapping groups into fields, with what each entry says of them, in the order of the entries. One record
    /// after the other, so that there is never more at hand than one record's.
    pub(super) fn into_fields(self, corrections: &Corrections) -> impl Iterator<Item = (Field, Vec<Observed>)> {
        self.0
            .into_iter()
            .flat_map(move |((module, record), of_record)| of_record.fields(&module, &record, corrections))
    }
}

impl OfRecord {
    fn fields(
        self,
        module: &ModuleName,
        record: &RecordName,
        corrections: &Corrections,
    ) -> BTreeMap<Field, Vec<Observed>> {
        let mut fields: BTreeMap<Field, Vec<Observed>> = BTreeMap::new();
        for changes in self.layouts {
            // Neither work that was never made nor its correction makes a group.
            let made = changes.iter().filter(|change| change.source.answers(change.entry, corrections).is_some());
            for mask in joined(made.map(|change| altered_together(change, &changes))) {
                let field = Field::Undeclared { module: module.clone(), record: record.clone(), mask: mask.clone() };
                let touching = changes.iter().filter(|change| change.mask.overlaps(&mask));
                fields.entry(field).or_default().extend(touching.map(|change| Observed {
                    entry: change.entry,
                    source: change.source,
                    found: Some(Content::bits(&mask, change.found.as_slice())),
                    left: Content::bits(&mask, change.left.as_slice()),
                }));
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

/// The bits of a change, and with those of a correction the ones of the change that it corrects: one entry altered them all.
fn altered_together(change: &BitChange, changes: &[BitChange]) -> BitMask {
    let mut mask = change.mask.clone();
    if let Source::Correction(corrects) = change.source {
        changes.iter().filter(|other| other.entry == corrects).for_each(|other| mask.add(&other.mask));
    }
    mask
}

/// Joins masks that overlap until none do.
fn joined(masks: impl Iterator<Item = BitMask>) -> Vec<BitMask> {
    let mut groups: Vec<BitMask> = Vec::new();
    for mut mask in masks {
        // A mask that has grown may overlap a group that it did not overlap before.
        while let Some(at) = groups.iter().position(|group| group.overlaps(&mask)) {
            mask.add(&groups.swap_remove(at));
        }
        groups.push(mask);
    }
    groups.sort();
    groups
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::difference::differ;

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
