//! What a plan will do to each field, as far as the journal can tell.

use std::collections::BTreeMap;

use time::OffsetDateTime;

use super::saved::content;
use super::{Plan, Step, Write};
use crate::definition::DefinitionSet;
use crate::difference::Content;
use crate::history::{Field, History};
use crate::names::{EntryNumber, RecordName, SettingPath};
use crate::state::State;
use crate::value::HexBytes;

/// A reading older than this does not tell what is in a vehicle today, in months. A choice of this project: others may
/// have worked on the vehicle in half a year.
pub const STALE_AFTER_MONTHS: u32 = 6;

/// Whether a field will change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExpectedChange {
    /// It will.
    WillChange,
    /// It will not: it is as wanted already.
    AsWanted,
    /// It will not in the end: it is altered on the way and comes back.
    ForATime,
    /// That cannot be told, because no reading has ever given it.
    NeverRead,
    /// That cannot be told, because the last reading that gave it is too old.
    ReadLongAgo {
        /// The reading.
        reading: EntryNumber,
        /// When it was taken.
        taken: OffsetDateTime,
    },
}

/// One field of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preview {
    /// The field.
    pub field: Field,
    /// What it holds as far as known.
    pub found: Option<Content>,
    /// What it is to hold.
    pub left: Option<Content>,
    /// Whether it will change.
    pub outlook: ExpectedChange,
}

/// What a plan will do to each field, in the order of its steps; fields that are as wanted come last.
pub fn preview(history: &History, definitions: &DefinitionSet, plan: &Plan, now: OffsetDateTime) -> Vec<Preview> {
    let state = history.state();
    let mut lines = Vec::new();
    let mut altered: BTreeMap<_, _> =
        plan.alterations().into_iter().map(|(path, found, left)| (path, (found, left))).collect();
    for step in &plan.steps {
        for setting in &step.settings {
            let path = SettingPath { module: step.module.clone(), setting: setting.setting.clone() };
            // What several steps alter has one line, where it is altered first.
            let Some((found, left)) = altered.remove(&path) else { continue };
            let comes_back = found.is_some_and(|found| found.same(left));
            let known = if comes_back { ExpectedChange::ForATime } else { ExpectedChange::WillChange };
            let field = Field::Setting(path);
            let outlook = outlook(state, definitions, &field, known, now);
            lines.push(Preview { field, found: found.cloned(), left: Some(left.clone()), outlook });
        }
        if let (false, Some((record, expect, write))) = (step.undeclared.is_empty(), bytes(step)) {
            let (module, mask) = (step.module.clone(), step.undeclared.clone());
            let found = expect.map(|bytes| Content::bits(&mask, bytes));
            let left = Some(Content::bits(&mask, write));
            let field = Field::Undeclared { module, record: record.clone(), mask };
            let outlook = outlook(state, definitions, &field, ExpectedChange::WillChange, now);
            lines.push(Preview { field, found, left, outlook });
        }
    }
    for field in &plan.settled {
        let found = content(state, definitions, field);
        let outlook = outlook(state, definitions, field, ExpectedChange::AsWanted, now);
        lines.push(Preview { field: field.clone(), left: found.clone(), found, outlook });
    }
    lines
}

/// The record that a step writes, as found and as left.
fn bytes(step: &Step) -> Option<(&RecordName, Option<&HexBytes>, &HexBytes)> {
    match &step.write {
        Write::Record { record, expect, write, .. } => Some((record, Some(expect), write)),
        Write::BlindRecord { record, expect, write } => Some((record, expect.as_ref(), write)),
        Write::ByName { .. } => None,
    }
}

fn outlook(
    state: &State,
    definitions: &DefinitionSet,
    field: &Field,
    known: ExpectedChange,
    now: OffsetDateTime,
) -> ExpectedChange {
    match last_read(state, definitions, field) {
        None => ExpectedChange::NeverRead,
        Some((reading, taken)) if months_between(taken, now) >= STALE_AFTER_MONTHS => {
            ExpectedChange::ReadLongAgo { reading, taken }
        }
        Some(_) => known,
    }
}

/// The last reading that gave a field, from the record that holds it or by value.
fn last_read(state: &State, definitions: &DefinitionSet, field: &Field) -> Option<(EntryNumber, OffsetDateTime)> {
    let module = state.module(field.module())?;
    match field {
        Field::Undeclared { record, .. } => module.records.get(record)?.read,
        Field::Setting(path) => {
            let definition = definitions.fitting(&path.module, &module.identity).ok().flatten();
            let record = definition.and_then(|definition| definition.setting(&path.setting)).map(|s| s.record());
            match record.and_then(|record| module.records.get(record)) {
                Some(known) => known.read,
                None => module.stated.get(&path.setting)?.read,
            }
        }
    }
}

/// Whole months from one moment to a later one, by the calendar; none where it is not later.
pub fn months_between(then: OffsetDateTime, now: OffsetDateTime) -> u32 {
    let now = now.to_offset(then.offset());
    let count = |at: OffsetDateTime| at.year() * 12 + i32::from(u8::from(at.month())) - 1;
    let part = |at: OffsetDateTime| (at.day(), at.time());
    let months = count(now) - count(then) - i32::from(part(now) < part(then));
    u32::try_from(months).unwrap_or(0)
}

/// How long ago something was, in words: `today`, `5 days ago`, `7 months ago`, `2 years ago`.
pub fn age_in_words(then: OffsetDateTime, now: OffsetDateTime) -> String {
    let counted = |count: i64, one: &str, many: &str| {
        if count == 1 { format!("1 {one} ago") } else { format!("{count} {many} ago") }
    };
    let days = (now - then).whole_days();
    let months = i64::from(months_between(then, now));
    match (days, months) {
        (..1, _) => "today".to_owned(),
        (_, 0) => counted(days, "day", "days"),
        (_, 1..24) => counted(months, "month", "months"),
        _ => counted(months / 12, "year", "years"),
    }
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    #[test]
    fn ages_are_counted_by_the_calendar() {
        let then = datetime!(2026-03-14 09:20 +1);
        for (now, months, words) in [
            (datetime!(2026-03-14 23:20 +1), 0, "today"),
            (datetime!(2026-03-15 09:19 +1), 0, "today"),
            (datetime!(2026-03-15 09:20 +1), 0, "1 day ago"),
            (datetime!(2026-04-14 09:19 +1), 0, "30 days ago"),
            (datetime!(2026-04-14 09:20 +1), 1, "1 month ago"),
            (datetime!(2026-04-14 09:20 +2), 0, "30 days ago"),
            (datetime!(2026-09-14 09:20 +1), 6, "6 months ago"),
            (datetime!(2028-03-13 09:20 +1), 23, "23 months ago"),
            (datetime!(2028-03-14 09:20 +1), 24, "2 years ago"),
            (datetime!(2026-03-01 09:20 +1), 0, "today"),
        ] {
            assert_eq!((months_between(then, now), age_in_words(then, now).as_str()), (months, words), "{now}");
        }
    }
}
