//! Changes of bits that no definition names, and the groups that they form.

use std::collections::BTreeMap;

use super::Field;
use super::chain::{Observed, Source};
use super::corrections::Corrections;
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

    pub(super) fn push(&mut self, key: &(ModuleName, RecordName), change: BitChange) {
        let record = self.0.entry(key.clone()).or_default();
        match record.layouts.last_mut() {
            Some(changes) => changes.push(change),
            None => record.layouts.push(vec![change]),
        }
    }

    /// Joins overlapping groups into fields, with what each entry says of them, in the order of the entries.
    pub(super) fn into_fields(self, corrections: &Corrections) -> BTreeMap<Field, Vec<Observed>> {
        let mut fields: BTreeMap<Field, Vec<Observed>> = BTreeMap::new();
        for ((module, record), of_record) in self.0 {
            for changes in of_record.layouts {
                // Neither work that was never made nor its correction makes a group.
                let made = changes.iter().filter(|change| change.source.answers(change.entry, corrections).is_some());
                for mask in joined(made.map(|change| altered_together(change, &changes))) {
                    let field =
                        Field::Undeclared { module: module.clone(), record: record.clone(), mask: mask.clone() };
                    let touching = changes.iter().filter(|change| change.mask.overlaps(&mask));
                    fields.entry(field).or_default().extend(touching.map(|change| Observed {
                        entry: change.entry,
                        source: change.source,
                        found: Some(Content::bits(&mask, change.found.as_slice())),
                        left: Content::bits(&mask, change.left.as_slice()),
                    }));
                }
            }
        }
        fields
    }
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
