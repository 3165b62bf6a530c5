//! How an entry moves the state on.

use thiserror::Error;

use super::{KnownRecord, KnownSetting, ScannedCodes, State};
use crate::entry::{Body, Effects, Entry, LateContent, ReadingBody};
use crate::names::{EntryNumber, ModuleName};

/// An entry that does not follow from the state before it.
///
/// In a sound journal this does not happen; it shows damage or tampering.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum InvalidEffect {
    /// The number is not the next one.
    #[error("entry {found} stands where entry {expected} should be")]
    Number {
        /// The number that should be there.
        expected: u32,
        /// The number that is there.
        found: EntryNumber,
    },
    /// The first entry is no enrolment, or a later one is.
    #[error("entry {0}: a journal starts with the enrolment and has only one")]
    Enrolment(EntryNumber),
    /// What the entry says was found is not what the entries before it give.
    #[error("entry {entry}: {module} {what}: as found is not what the entries before give")]
    Found {
        /// The entry.
        entry: EntryNumber,
        /// The module.
        module: ModuleName,
        /// The record, setting or `identity`.
        what: String,
    },
}

impl State {
    /// The state after `entries`, in order.
    pub fn fold<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Result<Self, InvalidEffect> {
        let mut state = Self::default();
        for entry in entries {
            state.apply(entry)?;
        }
        Ok(state)
    }

    /// Moves the state on by one entry; on an error it is left as it was or part of the way.
    pub fn apply(&mut self, entry: &Entry) -> Result<(), InvalidEffect> {
        let expected = self.last.map_or(1, |last| last.get().saturating_add(1));
        if entry.number.get() != expected {
            return Err(InvalidEffect::Number { expected, found: entry.number });
        }
        if matches!(entry.body, Body::Enrolled(_)) != (expected == 1) {
            return Err(InvalidEffect::Enrolment(entry.number));
        }
        self.last = Some(entry.number);
        if let Body::Enrolled(vehicle) = &entry.body {
            self.vehicle = Some(vehicle.clone());
        }
        if let Some(effects) = entry.body.effects() {
            self.apply_effects(entry, effects)?;
        }
        if let Body::Reading(reading) = &entry.body {
            self.apply_coverage(entry, reading);
        }
        Ok(())
    }

    fn apply_effects(&mut self, by: &Entry, effects: &Effects) -> Result<(), InvalidEffect> {
        let (entry, known_at) = (by.number, by.moment());
        // Work may tell what was found where nothing was known (`--was`); a reading finds nothing else than what was known.
        let reading = matches!(by.body, Body::Reading(_));
        let told = |found: bool| found && reading;
        let misfit = |module: &ModuleName, what: String| InvalidEffect::Found { entry, module: module.clone(), what };
        for effect in &effects.identities {
            let module = self.modules.entry(effect.module.clone()).or_default();
            if module.identity != effect.found {
                return Err(misfit(&effect.module, "identity".into()));
            }
            if effect.found.differs_in_text(&effect.left) {
                module.renewed = Some(entry);
                module.renewed_at = Some(known_at);
            }
            module.identity = effect.left.clone();
        }
        for effect in &effects.records {
            let module = self.modules.entry(effect.module.clone()).or_default();
            let known = module.records.get(&effect.record);
            if known.map_or_else(|| told(effect.found.is_some()), |known| Some(&known.bytes) != effect.found.as_ref()) {
                return Err(misfit(&effect.module, effect.record.to_string()));
            }
            let read = known.and_then(|known| known.read);
            let record = KnownRecord { bytes: effect.left.clone(), since: entry, read, known_at };
            module.records.insert(effect.record.clone(), record);
        }
        for effect in &effects.stated {
            let module = self.modules.entry(effect.module.clone()).or_default();
            let known = module.stated.get(&effect.setting);
            if known.map_or_else(|| told(effect.found.is_some()), |known| Some(&known.value) != effect.found.as_ref()) {
                return Err(misfit(&effect.module, effect.setting.to_string()));
            }
            let read = known.and_then(|known| known.read);
            match effect.left.clone() {
                Some(value) => {
                    module.stated.insert(effect.setting.clone(), KnownSetting { value, since: entry, read, known_at });
                }
                None => {
                    module.stated.remove(&effect.setting);
                }
            }
        }
        Ok(())
    }

    fn apply_coverage(&mut self, entry: &Entry, reading: &ReadingBody) {
        let now = entry.moment();
        if let Some(odometer) = reading.odometer_km
            && self.odometer_at.is_none_or(|at| at.is_before(&now))
        {
            (self.odometer_km, self.odometer_at) = (Some((odometer, entry.number)), Some(now));
        }
        let nothing = LateContent::default();
        for (name, covered) in &reading.covered {
            let late = reading.late.get(name).unwrap_or(&nothing);
            let module = self.modules.entry(name.clone()).or_default();
            let read = Some((entry.number, entry.happened));
            module.address = covered.address.or(module.address);
            module.seen_at = Some(module.seen_at.map_or(now, |at| at.or_later(now)));
            for record in covered.records.iter().filter(|record| !late.records.contains_key(*record)) {
                if let Some(known) = module.records.get_mut(record) {
                    (known.read, known.known_at) = (read, known.known_at.or_later(now));
                }
                module.refused.remove(record);
            }
            for setting in covered.settings.iter().filter(|setting| !late.settings.contains_key(*setting)) {
                if let Some(known) = module.stated.get_mut(setting) {
                    (known.read, known.known_at) = (read, known.known_at.or_later(now));
                }
            }
            module.refused.extend(covered.refused.difference(&late.refused).cloned());
            if let Some(codes) = covered.trouble_codes.as_ref().filter(|_| !late.trouble_codes) {
                module.codes = Some(ScannedCodes { codes: codes.clone(), read: entry.number, known_at: now });
            }
        }
    }
}
