//! Draws a sheet up from a journal.

use std::collections::BTreeSet;

use asfound_core::definition::{DefinitionSet, TwoFit};
use asfound_core::difference::compare;
use asfound_core::entry::{Body, Entry, ReadingRole};
use asfound_core::history::History;
use asfound_core::names::{EntryNumber, SettingPath};
use asfound_core::order::{Order, outcome};
use asfound_core::safety::{SafetyTag, role_tag};
use asfound_core::state::{MisfitEffect, ModuleState, State};
use asfound_core::trial;
use thiserror::Error;
use time::OffsetDateTime;

use super::changes::{Span, changes};
use super::codes::codes;
use super::evidence::{acknowledgements, amendments, not_done, noticed, undone, work};
use super::modules::{RecordVerdict, Sides, module};
use super::number::number_of;
use super::trials::trials;
use super::{
    Account, Agreement, Changed, Conditions, Level, Limit, MomentsError, SealShown, Sheet, Signature, Totals,
    VehicleShown, Workshop, between, of_order,
};

/// Why a sheet cannot be drawn up.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SheetError {
    /// There are no two moments.
    #[error(transparent)]
    Moments(#[from] MomentsError),
    /// The entries do not follow from each other.
    #[error(transparent)]
    Misfit(#[from] MisfitEffect),
    /// Two definitions fit one module.
    #[error(transparent)]
    TwoFit(#[from] TwoFit),
    /// The journal does not say what vehicle it is about.
    #[error("the journal does not begin with the vehicle's enrolment")]
    NoVehicle,
}

/// What a sheet is drawn up from.
#[derive(Debug, Clone)]
pub struct SheetOrder<'a> {
    /// The whole journal, oldest entry first.
    pub entries: &'a [Entry],
    /// The definitions that explain its bytes.
    pub definitions: &'a DefinitionSet,
    /// The life of every field, traced through all entries.
    pub history: &'a History,
    /// The work order that it is about, which says between which moments it speaks; nothing where it is about none.
    pub work_order: Option<&'a Order>,
    /// Without a work order: the first moment, where it is not the last reading as found.
    pub from: Option<EntryNumber>,
    /// Without a work order: the second moment, where it is not the last reading as left.
    pub to: Option<EntryNumber>,
    /// For whom it is printed.
    pub customer: Option<String>,
    /// By whom.
    pub workshop: Workshop,
    /// What the signatures of the entries are worth; those of other entries than the sheet's are left out.
    pub signatures: Vec<Signature>,
    /// The seal over all entries.
    pub seal: SealShown,
    /// When it is printed.
    pub printed: OffsetDateTime,
}

/// Draws a sheet up.
///
/// # Errors
/// When there are no two moments, or the journal is not sound.
pub fn draw_up(order: SheetOrder<'_>) -> Result<Sheet, SheetError> {
    let (from, to) = match order.work_order {
        Some(work_order) => of_order(order.entries, work_order.opened, work_order.closed)?,
        None => between(order.entries, order.from, order.to)?,
    };
    let outcome = order.work_order.map(|one| outcome(one, order.entries, order.history)).transpose()?;
    let until = |last: EntryNumber| State::fold(order.entries.iter().filter(move |entry| entry.number <= last));
    let (found, left) = (until(from)?, until(to)?);
    let vehicle = left.vehicle.clone().ok_or(SheetError::NoVehicle)?;
    let comparison = compare(&found, &left, order.definitions, order.definitions)?;
    let span = Span { history: order.history, from, to, outcome: outcome.as_ref() };
    let (mut all_changes, mut modules, mut all_codes) = (Vec::new(), Vec::new(), Vec::new());
    let until_left: Vec<&Entry> = order.entries.iter().filter(|entry| entry.number <= to).collect();
    let nothing = ModuleState::default();
    for compared in &comparison.modules {
        let sides = Sides {
            found: found.module(&compared.module).unwrap_or(&nothing),
            left: left.module(&compared.module).unwrap_or(&nothing),
            from,
            renewed_as_authorised: span.renewed_as_authorised(&compared.module).is_some(),
        };
        let definition = order.definitions.fitting(&compared.module, &sides.left.identity)?;
        let of_module = changes(&span, compared, definition);
        modules.push(module(compared, &sides, &of_module));
        all_codes.push(codes(compared, (sides.found, sides.left), &until_left));
        all_changes.extend(of_module);
    }
    let between: Vec<&Entry> =
        order.entries.iter().filter(|entry| from <= entry.number && entry.number <= to).collect();
    let shown = |entry: EntryNumber| from <= entry && entry <= to;
    let (systems, cautions) = care(&all_changes, order.definitions, &left)?;
    let mut undone = undone(&between);
    undone.extend(outcome.iter().flat_map(not_done));
    let all_trials = trial::trials(order.entries, order.history);
    let mut sheet = Sheet {
        number: String::new(),
        printed: order.printed,
        vehicle: VehicleShown { tag: vehicle.tag, vin: vehicle.vin, about: vehicle.about },
        customer: order.customer,
        workshop: order.workshop,
        found: conditions(order.entries, from)?,
        left: conditions(order.entries, to)?,
        work: work(&between, order.history),
        trials: trials(&all_trials, shown),
        totals: Totals::over(&modules),
        modules,
        changes: all_changes,
        systems,
        codes: all_codes,
        cautions,
        acknowledgements: acknowledgements(&between),
        noticed: noticed(&between, order.history),
        undone,
        amendments: amendments(order.entries, shown),
        limits: Vec::new(),
        signatures: order.signatures.into_iter().filter(|signature| shown(signature.entry)).collect(),
        agreement: order.work_order.map(|one| Agreement::of(one, order.entries)),
        seal: order.seal,
    };
    sheet.limits = limits(&sheet, order.entries.iter().filter(|entry| entry.number > to).count());
    sheet.number = number_of(&sheet);
    Ok(sheet)
}

fn conditions(entries: &[Entry], number: EntryNumber) -> Result<Conditions, MomentsError> {
    let entry = entries.iter().find(|entry| entry.number == number).ok_or(MomentsError::NoEntry(number))?;
    let reading = match &entry.body {
        Body::Reading(reading) => Some(reading),
        _ => None,
    };
    Ok(Conditions {
        entry: number,
        role: reading.map(|reading| reading.role),
        partial: reading.is_some_and(|reading| reading.partial),
        at: entry.happened,
        by: reading.and_then(|reading| reading.by.clone()).unwrap_or_else(|| entry.author.name().to_owned()),
        tool: reading.and_then(|reading| reading.tool.clone()),
        odometer_km: reading.and_then(|reading| reading.odometer_km),
        supply_voltage: reading.and_then(|reading| reading.supply_voltage.clone()),
    })
}

/// The kinds of system that were altered, and what the definitions say to watch.
fn care(
    changes: &[Changed],
    definitions: &DefinitionSet,
    state: &State,
) -> Result<(Vec<SafetyTag>, Vec<String>), TwoFit> {
    let (mut systems, mut cautions) = (BTreeSet::new(), Vec::new());
    for change in changes {
        let identity = state.identity(&change.module);
        let definition = definitions.fitting(&change.module, &identity)?;
        let setting = change.field.parse::<SettingPath>().ok();
        let defined = setting.and_then(|path| definition?.setting(&path.setting));
        match defined {
            Some(setting) => systems.extend(setting.tags().iter().copied()),
            None => {
                systems.extend(definition.into_iter().flat_map(|definition| definition.systems()).copied());
                systems.extend(role_tag(&change.module));
            }
        }
        let of_module = definition.into_iter().flat_map(|definition| definition.cautions());
        for caution in defined.into_iter().flat_map(|setting| setting.cautions()).chain(of_module) {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
    }
    Ok((systems.into_iter().collect(), cautions))
}

fn limits(sheet: &Sheet, later: usize) -> Vec<Limit> {
    let mut limits = Vec::new();
    if sheet.found.role != Some(ReadingRole::AsFound) {
        limits.push(Limit::NotReadAsFound);
    }
    if sheet.left.role != Some(ReadingRole::AsLeft) {
        limits.push(Limit::NotReadAsLeft);
    }
    for conditions in [&sheet.found, &sheet.left].into_iter().filter(|conditions| conditions.partial) {
        limits.push(Limit::Partial { entry: conditions.entry });
    }
    let records = |verdict| sheet.modules.iter().flat_map(|m| &m.records).filter(|r| r.verdict == verdict).count();
    let counts = [
        (records(RecordVerdict::NotRead), (|records| Limit::RecordsNotRead { records }) as fn(usize) -> Limit),
        (records(RecordVerdict::Refused), |records| Limit::RecordsRefused { records }),
        (sheet.codes.iter().filter(|codes| !codes.examined).count(), |modules| Limit::CodesNotExamined { modules }),
        (
            sheet
                .changes
                .iter()
                .filter(|c| c.account <= Account::WithoutAuthority && c.level == Some(Level::Stated))
                .count(),
            |changes| Limit::NotReadBack { changes },
        ),
        (later, |entries| Limit::LaterEntries { entries }),
    ];
    limits.extend(counts.into_iter().filter(|(count, _)| *count > 0).map(|(count, limit)| limit(count)));
    limits
}
