//! Holds a reading against what is known, before it is filed.

use std::collections::BTreeMap;

use time::OffsetDateTime;

use super::late::take_late;
use super::missing::{MissingItem, missing};
use super::older_names::as_known;
use super::problem::{ReadingProblem, ReadingRemark};
use crate::definition::{Definition, DefinitionSet, SettingDefinition};
use crate::entry::{
    Effects, IdentityEffect, LateContent, ModuleCoverage, Moment, ReadingBody, ReadingRole, RecordEffect, Vehicle,
};
use crate::layout::DecodeError;
use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::reading::{ModuleReading, Reading, VehicleMark};
use crate::situation::Situation;
use crate::state::{ModuleState, State};
use crate::trouble_code::ReportedCode;
use crate::value::{Decimal, HexBytes, Value};

/// On what terms a reading is filed.
#[derive(Debug, Clone, Copy)]
pub struct ReadingTerms {
    /// Why it was taken.
    pub role: ReadingRole,
    /// Whether it is meant to cover less than earlier readings.
    pub partial: bool,
    /// When it is filed.
    pub recorded: OffsetDateTime,
}

/// A reading that may be filed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AcceptedReading {
    /// What the entry will hold.
    pub body: ReadingBody,
    /// What is worth saying.
    pub remarks: Vec<ReadingRemark>,
    /// What earlier readings had and this one lacks; empty unless it is partial.
    pub missing: Vec<MissingItem>,
}

/// Holds a reading against the state and the definitions.
///
/// # Errors
/// Everything that keeps it from being filed, all at once.
pub fn examine(
    reading: &Reading,
    state: &State,
    definitions: &DefinitionSet,
    terms: ReadingTerms,
) -> Result<AcceptedReading, Vec<ReadingProblem>> {
    let reading = &*as_known(reading, state);
    let taken = reading.taken.unwrap_or_else(|| terms.recorded.into());
    let number = state.last.and_then(EntryNumber::next).unwrap_or(EntryNumber::FIRST);
    let moment = Moment::new(number, taken, terms.recorded);
    let mut work = Examination {
        definitions,
        moment,
        problems: Vec::new(),
        remarks: state.timing(moment, terms.recorded).into_iter().map(ReadingRemark::Timing).collect(),
        effects: Effects::default(),
        late: BTreeMap::new(),
    };
    if let Some(vehicle) = &state.vehicle {
        work.vehicle(reading, vehicle);
    }
    if reading.modules.is_empty() {
        work.problems.push(ReadingProblem::Empty);
    }
    let both = reading.situation.did_not_answer.iter().filter(|name| reading.modules.contains_key(*name));
    work.problems.extend(both.cloned().map(ReadingProblem::AnsweredAndNot));
    let mut covered = BTreeMap::new();
    let nothing = ModuleState::default();
    for (name, said) in &reading.modules {
        let known = state.module(name).unwrap_or(&nothing);
        covered.insert(name.clone(), work.module(name, said, known));
        let definition = definitions.fitting(name, &known.identity.updated_by(&said.identity)).ok().flatten();
        for code in said.trouble_codes.iter().flatten() {
            let remarks = implausible(name, code, definition, &reading.situation, reading.supply_voltage.as_ref());
            work.remarks.extend(remarks);
        }
    }
    work.conditions(reading, state);
    let missing = missing(reading, state, definitions);
    if !missing.is_empty() && !terms.partial {
        work.problems.push(ReadingProblem::Incomplete(missing.clone()));
    }
    if !work.problems.is_empty() {
        return Err(work.problems);
    }
    let body = ReadingBody {
        role: terms.role,
        partial: terms.partial,
        by: reading.by.clone(),
        tool: reading.tool.clone(),
        odometer_km: reading.odometer_km,
        supply_voltage: reading.supply_voltage.clone(),
        situation: reading.situation.clone(),
        covered,
        effects: work.effects,
        late: work.late,
    };
    Ok(AcceptedReading { body, remarks: work.remarks, missing })
}

/// What a module's definition says against a trouble code that was read in this situation: one
/// [`ReadingRemark::ImplausibleCode`] for each rule that speaks against it.
pub fn implausible(
    module: &ModuleName,
    code: &ReportedCode,
    definition: Option<&Definition>,
    situation: &Situation,
    volts: Option<&Decimal>,
) -> Vec<ReadingRemark> {
    let rules = definition.map_or(&[][..], Definition::plausibility);
    let against = rules.iter().filter_map(|rule| Some((rule, rule.against(code, situation, volts)?)));
    against
        .map(|(rule, against)| ReadingRemark::ImplausibleCode {
            module: module.clone(),
            code: code.code.clone(),
            against,
            because: rule.because().to_owned(),
            rule: rule.name().clone(),
        })
        .collect()
}

pub(super) struct Examination<'a> {
    definitions: &'a DefinitionSet,
    /// When the reading was taken.
    pub(super) moment: Moment,
    pub(super) problems: Vec<ReadingProblem>,
    remarks: Vec<ReadingRemark>,
    effects: Effects,
    late: BTreeMap<ModuleName, LateContent>,
}

impl Examination<'_> {
    fn vehicle(&mut self, reading: &Reading, vehicle: &Vehicle) {
        match &reading.vehicle {
            Some(VehicleMark::Tag(said)) if *said != vehicle.tag => {
                self.problems.push(ReadingProblem::OtherTag { said: said.clone(), tag: vehicle.tag.clone() });
            }
            Some(VehicleMark::Vin(said)) if Some(said) != vehicle.vin.as_ref() => {
                self.problems.push(ReadingProblem::OtherVin { said: said.clone(), known: vehicle.vin.clone() });
            }
            _ => {}
        }
    }

    fn conditions(&mut self, reading: &Reading, state: &State) {
        if let (Some(now), Some((before, entry)), Some(at)) =
            (reading.odometer_km, state.odometer_km, state.odometer_at)
        {
            let back = at.is_before(&self.moment) && now < before;
            let ahead = self.moment.is_before(&at) && now > before;
            if back || ahead {
                self.remarks.push(ReadingRemark::OdometerBack { now, before, entry });
            }
        }
        let twelve = crate::value::Decimal::from(12);
        if reading.supply_voltage.as_ref().is_some_and(|volts| *volts < twelve) {
            self.remarks.push(ReadingRemark::LowVoltage);
        }
    }

    fn module(&mut self, name: &ModuleName, said: &ModuleReading, known: &ModuleState) -> ModuleCoverage {
        let definition = self.definitions.fitting(name, &known.identity.updated_by(&said.identity)).ok().flatten();
        let mut said = said.clone();
        let late = take_late(&mut said, known, definition, self.moment);
        for (record, bytes) in &late.records {
            self.record(name, record, bytes, &said, definition);
        }
        let said = &said;
        let identity = known.identity.updated_by(&said.identity);
        if identity != known.identity {
            self.effects.identities.push(IdentityEffect {
                module: name.clone(),
                found: known.identity.clone(),
                left: identity.clone(),
            });
        }
        let fitting = self.definitions.fitting(name, &identity);
        match &fitting {
            Ok(Some(_)) => {}
            Ok(None) => self.remarks.push(ReadingRemark::NoDefinition(name.clone())),
            Err(several) => self.remarks.push(ReadingRemark::SeveralDefinitions(several.clone())),
        }
        let definition = fitting.ok().flatten();
        for (record, bytes) in &said.records {
            self.record(name, record, bytes, said, definition);
        }
        let mut left: BTreeMap<&RecordName, HexBytes> =
            said.records.iter().map(|(record, bytes)| (record, bytes.clone())).collect();
        let stated = self.stated(name, said, known, identity.differs_in_text(&known.identity), definition, &mut left);
        for (record, left) in left {
            let found = known.records.get(record).map(|known| known.bytes.clone());
            if found.as_ref() != Some(&left) {
                let (module, record) = (name.clone(), record.clone());
                self.effects.records.push(RecordEffect { module, record, found, left });
            }
        }
        self.effects.stated.extend(stated);
        let mut covered = ModuleCoverage {
            address: said.address,
            records: said.records.keys().cloned().collect(),
            settings: said.settings.keys().cloned().collect(),
            refused: said.refused.clone(),
            trouble_codes: said.trouble_codes.clone(),
        };
        covered.records.extend(late.records.keys().cloned());
        covered.settings.extend(late.settings.keys().cloned());
        if !late.is_empty() {
            self.late.insert(name.clone(), late);
        }
        covered
    }

    fn record(
        &mut self,
        name: &ModuleName,
        record: &RecordName,
        bytes: &HexBytes,
        said: &ModuleReading,
        definition: Option<&Definition>,
    ) {
        let (module, named) = (name.clone(), record.clone());
        if said.refused.contains(record) {
            self.problems.push(ReadingProblem::GivenAndRefused { module: module.clone(), record: named.clone() });
        }
        if bytes.is_empty() {
            self.problems.push(ReadingProblem::NoBytes { module, record: named });
            return;
        }
        let Some((definition, layout)) = definition.and_then(|d| Some((d, d.record(record)?))) else {
            return;
        };
        if bytes.len() != layout.length() {
            self.problems.push(ReadingProblem::Length {
                module,
                record: named,
                found: bytes.len(),
                expected: layout.length(),
                definition: definition.id().clone(),
            });
            return;
        }
        if layout.checksum().is_some_and(|checksum| checksum.holds(bytes.as_slice()) == Ok(false)) {
            self.remarks.push(ReadingRemark::Checksum(module.clone(), named));
        }
        for setting in definition.settings_in(record) {
            match setting.layout().decode(bytes.as_slice()) {
                Ok(value) => self.permitted(name, setting, &value),
                Err(DecodeError::NoMeaning { coded, .. }) => {
                    self.remarks.push(ReadingRemark::NoMeaning(module.clone(), setting.name().clone(), coded));
                }
                Err(DecodeError::TooShort { .. }) => {}
            }
        }
    }

    pub(super) fn permitted(&mut self, module: &ModuleName, setting: &SettingDefinition, value: &Value) {
        if setting.check(value).is_err() {
            let remark = ReadingRemark::NotPermitted(module.clone(), setting.name().clone(), value.to_string());
            self.remarks.push(remark);
        }
    }
}
