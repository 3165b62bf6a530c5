//! Readings made of logs: as found, and as left.

use std::collections::BTreeMap;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Entry, ReadingRole, WireAnswer};
use asfound_core::examination::{AcceptedReading, ReadingProblem, ReadingTerms, examine};
use asfound_core::identity::Identity;
use asfound_core::names::{EntryNumber, ModuleName, RecordName};
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::state::State;
use asfound_core::trouble_code::{CodeStatus, ReportedCode, TroubleCode};
use asfound_core::value::HexBytes;
use asfound_wire::conversation::CodesRead;
use time::OffsetDateTime;

use super::identity::{identity, in_known_words, is_of_identity};
use super::logged::{LoggedEvents, LoggedRecord, SeenBytes, date};
use super::{BusSummary, LeftOut, ModuleIdentification};

/// Says which entry after a moment tells of a record, by the logs' clock; what the logs say of it is older news then.
pub(super) trait LaterEntry {
    /// The first entry later than `number` in the logs (at `at`) that tells of a record, or of all trouble codes where
    /// `record` is nothing.
    fn entry(
        &self,
        module: &ModuleName,
        record: Option<&RecordName>,
        seen: (u64, Option<OffsetDateTime>),
    ) -> Option<EntryNumber>;
}

/// Everything that a reading is made of.
pub(super) struct ReadingSource<'a> {
    pub(super) heard: &'a BusSummary,
    pub(super) placing: &'a ModuleIdentification,
    pub(super) told: &'a LoggedEvents,
    pub(super) definitions: &'a DefinitionSet,
    pub(super) later: &'a dyn LaterEntry,
    pub(super) tool: Option<&'a str>,
    pub(super) odometer_km: Option<u32>,
    /// Where the first write stands.
    pub(super) first_write: Option<u64>,
}

/// Which of the two readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum WhichReading {
    /// What was read before writes; of records that were not written, before the first write of all.
    Before,
    /// What was read last, after writes.
    After,
}

/// A reading, and when it was taken.
pub(super) struct TimedReading {
    pub(super) reading: Reading,
    pub(super) at: Option<OffsetDateTime>,
}

impl ReadingSource<'_> {
    /// The reading of one side; nothing where the logs have none.
    pub(super) fn taken(&self, side: WhichReading, state: &State, left_out: &mut Vec<LeftOut>) -> Option<TimedReading> {
        let mut reading = Reading { odometer_km: self.odometer_km, ..Reading::default() };
        reading.tool = self.tool.map(str::to_owned);
        let mut times: Vec<OffsetDateTime> = Vec::new();
        for placed in &self.placing.placed {
            let here = self.told.records.iter().filter(|told| told.module == placed.module);
            let mut module = ModuleReading::default();
            let mut identities: BTreeMap<u16, Vec<u8>> = BTreeMap::new();
            for told in here {
                let record = RecordName::Identifier(told.record);
                let Some(seen) = self.seen(told, side) else {
                    if let Some(seen) = told.refused.filter(|(number, _)| side == self.side_of(*number))
                        && self.later.entry(&placed.module, Some(&record), seen).is_none()
                    {
                        times.extend(seen.1);
                        module.refused.insert(record);
                    }
                    continue;
                };
                if let Some(entry) = self.later.entry(&placed.module, Some(&record), (seen.number, seen.at)) {
                    left_out.push(LeftOut::Later { module: placed.module.clone(), record, entry });
                    continue;
                }
                times.extend(seen.at);
                if is_of_identity(told.record) {
                    identities.insert(told.record, seen.bytes.clone());
                } else if !seen.bytes.is_empty() {
                    module.records.insert(record, HexBytes::from(seen.bytes.clone()));
                }
            }
            let said = identity(|id| identities.get(&id).cloned());
            module.identity = in_known_words(said, state.module(&placed.module));
            if let Some((codes, at)) = self.codes(placed, side) {
                module.trouble_codes = Some(codes);
                times.extend(at);
            }
            self.fits(&placed.module, &mut module, state, left_out);
            if tells(&module) {
                reading.modules.insert(placed.module.clone(), module);
            }
        }
        if reading.modules.is_empty() {
            return None;
        }
        let at = if side == WhichReading::Before { times.iter().min() } else { times.iter().max() };
        Some(TimedReading { reading, at: at.copied() })
    }

    /// On which side something is that was not written.
    fn side_of(&self, number: u64) -> WhichReading {
        if self.first_write.is_some_and(|write| number > write) { WhichReading::After } else { WhichReading::Before }
    }

    fn seen<'t>(&self, told: &'t LoggedRecord, side: WhichReading) -> Option<&'t SeenBytes> {
        let Some(first_write) = self.first_write else {
            // Nothing was written: one reading, of what was read last.
            return told.after.as_ref().filter(|_| side == WhichReading::Before);
        };
        let written = self.told.writes.iter().any(|write| {
            write.write.module == told.module
                && write.write.record == RecordName::Identifier(told.record)
                && write.write.answer != WireAnswer::Refused
        });
        match side {
            WhichReading::Before => told.before.as_ref().filter(|seen| written || seen.number < first_write),
            WhichReading::After => {
                let after = told.after.as_ref()?;
                let last_write = self.told.writes.iter().find(|write| write.number == first_write)?.write.at;
                let later =
                    after.number > first_write || after.at.zip(last_write).is_some_and(|(at, write)| at > write);
                Some(after).filter(|_| written || later)
            }
        }
    }

    /// The trouble codes of one side.
    fn codes(
        &self,
        placed: &super::IdentifiedModule,
        side: WhichReading,
    ) -> Option<(Vec<ReportedCode>, Option<OffsetDateTime>)> {
        let lists = &self.heard.modules[placed.heard].timeline.codes;
        let is_before = |list: &&CodesRead| self.first_write.is_none_or(|write| list.number < write);
        let list = match (side, self.first_write) {
            (WhichReading::Before, None) => lists.last(),
            (WhichReading::Before, Some(_)) => lists.iter().find(is_before),
            (WhichReading::After, None) => None,
            (WhichReading::After, Some(_)) => lists.iter().rev().find(|list| !is_before(list)),
        }?;
        let at = self.told.shifted(date(list.at));
        if self.later.entry(&placed.module, None, (list.number, at)).is_some() {
            return None;
        }
        let code = |one: &asfound_wire::service::CodeStatus| {
            ReportedCode::new(TroubleCode::from_three(one.code), Some(CodeStatus(one.status)))
        };
        Some((list.codes.iter().map(code).collect(), at))
    }

    /// Leaves out records that have another length than the definition says: what they are is not known then.
    fn fits(&self, name: &ModuleName, module: &mut ModuleReading, state: &State, left_out: &mut Vec<LeftOut>) {
        let identity = state.identity(name).updated_by(&module.identity);
        let Some(definition) = self.definitions.fitting(name, &identity).ok().flatten() else { return };
        module.records.retain(|record, bytes| {
            let length = definition.record(record).map(asfound_core::definition::RecordDefinition::length);
            let fits = length.is_none_or(|length| length == bytes.len());
            if let (false, Some(expected)) = (fits, length) {
                let (module, record, found) = (name.clone(), record.clone(), bytes.len());
                left_out.push(LeftOut::Length { module, record, found, expected });
            }
            fits
        });
    }
}

fn tells(module: &ModuleReading) -> bool {
    !module.records.is_empty()
        || !module.refused.is_empty()
        || module.trouble_codes.is_some()
        || module.identity != Identity::default()
}

/// The reading held against what is known.
pub(super) fn examined(
    taken: &TimedReading,
    role: ReadingRole,
    state: &State,
    definitions: &DefinitionSet,
    recorded: OffsetDateTime,
) -> Result<AcceptedReading, Vec<ReadingProblem>> {
    let reading = Reading { taken: taken.at.map(Into::into), ..taken.reading.clone() };
    examine(&reading, state, definitions, ReadingTerms { role, partial: true, recorded })
}

/// Whether any reading is in the journal.
pub(super) fn was_read(entries: &[Entry]) -> bool {
    entries.iter().any(|entry| matches!(entry.body, asfound_core::entry::Body::Reading(_)))
}
