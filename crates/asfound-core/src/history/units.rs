//! Which unit was in the vehicle when.

use std::collections::BTreeMap;

use super::{HandKind, hand_kind};
use crate::identity::Identity;
use crate::names::{EntryNumber, ModuleName};
use crate::sameness::compare_identity_texts;

/// The units of every module, each told by a number: 0 for the first.
#[derive(Debug, Clone, Default)]
pub(super) struct Units(BTreeMap<ModuleName, ModuleUnits>);

#[derive(Debug, Clone, Default)]
struct ModuleUnits {
    /// What is known of each unit.
    units: Vec<Identity>,
    /// From which entry on which unit was there.
    since: Vec<(EntryNumber, usize)>,
}

impl Units {
    /// Notes what a module is from an entry on. It is a unit that was there before where its serial number is the same.
    pub(super) fn push(&mut self, module: &ModuleName, entry: EntryNumber, now: &Identity) {
        let known = self.0.entry(module.clone()).or_default();
        let current = known.since.last().map_or(0, |(_, unit)| *unit);
        let unit = match known.units.get(current) {
            None => None,
            Some(before) if hand_kind(before, now) != HandKind::UnitSwapped => Some(current),
            Some(_) => known.units.iter().rposition(|unit| {
                let serials = unit.serial.as_ref().zip(now.serial.as_ref());
                serials.is_some_and(|(known, now)| compare_identity_texts(known, now).is_same())
            }),
        };
        let unit = match unit {
            Some(unit) => {
                known.units[unit] = known.units[unit].updated_by(now);
                unit
            }
            None => {
                known.units.push(now.clone());
                known.units.len() - 1
            }
        };
        if known.since.last().is_none_or(|(_, last)| *last != unit) {
            known.since.push((entry, unit));
        }
    }

    /// Whether a unit's serial number is known.
    pub(super) fn has_serial(&self, module: &ModuleName, unit: usize) -> bool {
        let known = self.0.get(module).and_then(|known| known.units.get(unit));
        known.is_some_and(|identity| identity.serial.is_some())
    }

    /// Whether it was known at an entry which unit was there.
    pub(super) fn is_known_at(&self, module: &ModuleName, entry: EntryNumber) -> bool {
        self.0.get(module).and_then(|known| known.since.first()).is_some_and(|(since, _)| *since <= entry)
    }

    /// The unit that was there at an entry.
    pub(super) fn at(&self, module: &ModuleName, entry: EntryNumber) -> usize {
        let Some(known) = self.0.get(module) else { return 0 };
        let at = known.since.partition_point(|(since, _)| *since <= entry);
        at.checked_sub(1).map_or(0, |at| known.since[at].1)
    }
}
