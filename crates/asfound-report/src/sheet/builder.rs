//! Draws a sheet up from a journal.

use std::collections::BTreeSet;

use asfound_core::definition::DefinitionSet;
use asfound_core::difference::compare;
use asfound_core::entry::{Body, Entry, ReadingRole};
use asfound_core::history::{History, OpenSteps};
use asfound_core::names::{EntryNumber, SettingPath};
use asfound_core::safety::{SafetyTag, role_tags, systems_in_name};
use asfound_core::state::{InvalidEffect, ModuleState, State};
use asfound_core::trial::TrialBuilder;
use asfound_core::work_order::{OutcomeBuilder, WorkOrder};
use thiserror::Error;
use time::OffsetDateTime;

use super::agreement::AgreementBuilder;
use super::appendix::{AppendixBuilder, not_done};
use super::changes::{EntrySpan, UndeclaredByRecord, changes};
use super::codes::codes;
use super::modules::{ModuleSides, RecordVerdict, module};
use super::number::number_of;
use super::trials::trials;
use super::{
    AccountedBy, Conditions, MomentsBuilder, MomentsError, NotDone, ProofLevel, SealShown, Sheet, SheetChange,
    SheetLimit, SheetSubject, SignatureShown, SignatureWorth, Totals, VehicleShown, Workshop,
};

/// Why a sheet cannot be drawn up.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SheetError {
    /// There are no two moments.
    #[error(transparent)]
    Moments(#[from] MomentsError),
    /// The entries do not follow from each other.
    #[error(transparent)]
    Misfit(#[from] InvalidEffect),
    /// The journal does not say what vehicle it is about.
    #[error("the journal does not begin with the vehicle's enrolment")]
    NoVehicle,
}

/// What a sheet is drawn up from, beside the entries.
#[derive(Debug, Clone)]
pub struct SheetRequest<'a> {
    /// The outline of all entries.
    pub outline: &'a MomentsBuilder,
    /// The trials of all entries.
    pub trials: TrialBuilder,
    /// The definitions that explain its bytes.
    pub definitions: &'a DefinitionSet,
    /// The life of every field, traced through all entries.
    pub history: &'a History,
    /// What it is about.
    pub subject: SheetSubject,
    /// For whom it is printed.
    pub customer: Option<String>,
    /// By whom.
    pub workshop: Workshop,
    /// What the signatures of the entries are worth; those of other entries than the sheet's are left out.
    pub signatures: Vec<SignatureShown>,
    /// The seal over all entries.
    pub seal: SealShown,
    /// When it is printed.
    pub printed: OffsetDateTime,
}

/// A sheet that is being drawn up, from one entry after the other, so that they need not all be at hand.
pub struct SheetBuilder<'a> {
    order: SheetRequest<'a>,
    from: EntryNumber,
    to: EntryNumber,
    /// The state at the first moment, and the state as far as the entries go, until the second.
    found: State,
    state: State,
    /// What is in doubt as far as the entries go, until the second moment.
    doubts: OpenSteps,
    conditions: [Option<Conditions>; 2],
    outcomes: OutcomeBuilder,
    /// The orders by which the work is judged, with what their entries tell of them.
    agreed: Vec<(WorkOrder, AgreementBuilder)>,
    told: AppendixBuilder<'a>,
}

impl<'a> SheetBuilder<'a> {
    /// Before the first entry.
    ///
    /// # Errors
    /// When there are no two moments.
    pub fn begin(order: SheetRequest<'a>) -> Result<Self, SheetError> {
        let (from, to) = order.subject.moments(order.outline)?;
        let orders = order.subject.orders(from, to);
        Ok(Self {
            from,
            to,
            found: State::default(),
            state: State::default(),
            doubts: OpenSteps::default(),
            conditions: [None, None],
            agreed: orders.iter().map(|order| (order.clone(), AgreementBuilder::default())).collect(),
            outcomes: OutcomeBuilder::of(orders),
            told: AppendixBuilder::new(order.history, from..=to),
            order,
        })
    }

    /// Takes in the next entry.
    ///
    /// # Errors
    /// When it does not follow from those before.
    pub fn push(&mut self, entry: &Entry) -> Result<(), SheetError> {
        if entry.number <= self.to {
            self.state.apply(entry)?;
            self.doubts.push(entry, &self.state, self.order.definitions);
        }
        if entry.number == self.from {
            self.found = self.state.clone();
            self.conditions[0] = Some(conditions(entry));
        }
        if entry.number == self.to {
            self.conditions[1] = Some(conditions(entry));
        }
        self.outcomes.push(entry)?;
        for (order, agreed) in &mut self.agreed {
            agreed.push(order, entry);
        }
        self.told.push(entry);
        Ok(())
    }

    /// The sheet, when all entries were taken in.
    ///
    /// # Errors
    /// When the entries do not begin with the vehicle's enrolment.
    pub fn finish(self) -> Result<Sheet<'a>, SheetError> {
        let Self { order, from, to, found, state: left, doubts, conditions: [found_at, left_at], .. } = self;
        let (found_at, left_at) =
            (found_at.ok_or(MomentsError::NoEntry(from))?, left_at.ok_or(MomentsError::NoEntry(to))?);
        let outcomes = self.outcomes.finish(order.history, order.definitions);
        let vehicle = left.vehicle.clone().ok_or(SheetError::NoVehicle)?;
        let comparison = compare(&found, &left, order.definitions, order.definitions, order.history.movements());
        let undeclared = UndeclaredByRecord::of(order.history);
        let span = EntrySpan { history: order.history, from, to, outcomes: &outcomes, undeclared };
        let (mut all_changes, mut modules, mut all_codes) = (Vec::new(), Vec::new(), Vec::new());
        let until_left: Vec<&Entry> = order.trials.readings().take_while(|reading| reading.number <= to).collect();
        let nothing = ModuleState::default();
        for compared in &comparison.modules {
            let of_left = left.module(&compared.module).unwrap_or(&nothing);
            let definition = order.definitions.explaining(&compared.module, &of_left.identity);
            let sides = ModuleSides {
                found: found.module(&compared.module).unwrap_or(&nothing),
                left: of_left,
                from,
                definition,
                renewed_as_authorised: span.renewed_as_authorised(&compared.module).is_some(),
            };
            let of_module = changes(&span, compared, definition);
            modules.push(module(compared, &sides, &of_module));
            all_codes.push(codes(compared, (sides.found, sides.left), &until_left));
            all_changes.extend(of_module);
        }
        // Of a long journal it takes much room.
        drop(comparison);
        let (systems, cautions) = care(&all_changes, order.definitions, &left);
        let AppendixBuilder { work, acknowledgements, noticed, mut undone, amendments, .. } = self.told;
        // Those since the first moment stand there already.
        let earlier = doubts.open().filter(|doubt| doubt.entry < from);
        undone.extend(earlier.map(|doubt| NotDone {
            entry: Some(doubt.entry),
            what: doubt.place.to_string(),
            label: None,
            value: None,
            outcome: Some(doubt.outcome),
        }));
        undone.extend(outcomes.iter().flat_map(|(_, outcome)| not_done(outcome)));
        for one in &mut undone {
            let path = one.what.parse::<SettingPath>().ok();
            let defined = path.as_ref().and_then(|path| {
                order.definitions.explaining(&path.module, &left.identity(&path.module))?.setting(&path.setting)
            });
            one.label = defined.map(|defined| defined.label().to_owned());
        }
        let shown = |entry: EntryNumber| from <= entry && entry <= to;
        let mut signatures = order.signatures;
        signatures.retain(|signature| shown(signature.entry));
        let mut sheet = Sheet {
            number: String::new(),
            printed: order.printed,
            vehicle: VehicleShown { tag: vehicle.tag, vin: vehicle.vin, about: vehicle.about },
            customer: order.customer,
            workshop: order.workshop,
            found: found_at,
            left: left_at,
            work,
            trials: trials(&order.trials.with(order.history), shown),
            totals: Totals::over(&modules),
            modules,
            changes: all_changes,
            systems,
            codes: all_codes,
            cautions,
            acknowledgements,
            noticed,
            undone,
            amendments,
            limits: Vec::new(),
            signatures,
            agreements: self.agreed.into_iter().map(|(order, agreed)| agreed.finish(&order)).collect(),
            seal: order.seal,
        };
        let later = order.outline.last().map_or(0, |last| last.get().saturating_sub(to.get()));
        sheet.limits = limits(&sheet, doubts.open().len(), usize::try_from(later).unwrap_or(usize::MAX));
        sheet.number = number_of(&sheet);
        Ok(sheet)
    }
}

fn conditions(entry: &Entry) -> Conditions {
    let reading = match &entry.body {
        Body::Reading(reading) => Some(reading),
        _ => None,
    };
    Conditions {
        entry: entry.number,
        role: reading.map(|reading| reading.role),
        partial: reading.is_some_and(|reading| reading.partial),
        at: entry.happened,
        by: reading.and_then(|reading| reading.by.clone()).unwrap_or_else(|| entry.author.name().to_owned()),
        tool: reading.and_then(|reading| reading.tool.clone()),
        odometer_km: reading.and_then(|reading| reading.odometer_km),
        supply_voltage: reading.and_then(|reading| reading.supply_voltage.clone()),
    }
}

/// The kinds of system that were altered, and what the definitions say to watch.
fn care(changes: &[SheetChange], definitions: &DefinitionSet, state: &State) -> (Vec<SafetyTag>, Vec<String>) {
    let (mut systems, mut cautions) = (BTreeSet::new(), Vec::new());
    for change in changes {
        let identity = state.identity(&change.module);
        let definition = definitions.explaining(&change.module, &identity);
        let setting = change.field.parse::<SettingPath>().ok();
        let defined = setting.as_ref().and_then(|path| definition?.setting(&path.setting));
        match defined {
            Some(setting) => systems.extend(setting.tags().iter().copied()),
            None => {
                systems.extend(definition.into_iter().flat_map(|definition| definition.systems()).copied());
                systems.extend(role_tags(&change.module));
                systems.extend(setting.iter().flat_map(|path| systems_in_name(path.setting.as_str())));
            }
        }
        let of_module = definition.into_iter().flat_map(|definition| definition.cautions());
        for caution in defined.into_iter().flat_map(|setting| setting.cautions()).chain(of_module) {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
    }
    (systems.into_iter().collect(), cautions)
}

fn limits(sheet: &Sheet<'_>, in_doubt: usize, later: usize) -> Vec<SheetLimit> {
    let mut limits = Vec::new();
    if sheet.found.role != Some(ReadingRole::AsFound) {
        limits.push(SheetLimit::NotReadAsFound);
    }
    if sheet.left.role != Some(ReadingRole::AsLeft) {
        limits.push(SheetLimit::NotReadAsLeft);
    }
    for conditions in [&sheet.found, &sheet.left].into_iter().filter(|conditions| conditions.partial) {
        limits.push(SheetLimit::Partial { entry: conditions.entry });
    }
    let records = |verdict| sheet.modules.iter().flat_map(|m| &m.records).filter(|r| r.verdict == verdict).count();
    let counts = [
        (
            records(RecordVerdict::NotRead),
            (|records| SheetLimit::RecordsNotRead { records }) as fn(usize) -> SheetLimit,
        ),
        (records(RecordVerdict::Refused), |records| SheetLimit::RecordsRefused { records }),
        (sheet.codes.iter().filter(|codes| !codes.examined).count(), |modules| SheetLimit::CodesNotExamined {
            modules,
        }),
        (
            sheet
                .changes
                .iter()
                .filter(|c| c.account <= AccountedBy::WithoutAuthority && c.level == Some(ProofLevel::Stated))
                .count(),
            |changes| SheetLimit::NotReadBack { changes },
        ),
        (in_doubt, |steps| SheetLimit::InDoubt { steps }),
        (sheet.signatures.iter().filter(|one| one.standing == SignatureWorth::ForAnother).count(), |entries| {
            SheetLimit::SignedForAnother { entries }
        }),
        (later, |entries| SheetLimit::LaterEntries { entries }),
    ];
    limits.extend(counts.into_iter().filter(|(count, _)| *count > 0).map(|(count, limit)| limit(count)));
    limits
}
