//! What was authorised, against what was done.

use super::{Doing, Line, Order, Outcome, Verdict, What};
use crate::definition::Identity;
use crate::difference::{Content, IdentityDifference, identity_differences};
use crate::entry::{Authorised, Body, Entry, IdentityEffect};
use crate::history::{Field, HandKind, History, Origin, Proof, Timeline, Transition, hand_kind};
use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::state::{MisfitEffect, State};

/// Holds what was authorised against what was done in the entries of an order.
///
/// `entries` and `history` are those of the whole journal. What is compared ends with the closing of the order; levels of proof
/// come from the whole journal. What was done is judged by what is left of it: work that a later entry of the same order took
/// back is done without authority no longer.
///
/// # Errors
/// When the entries do not follow from each other.
pub fn outcome(order: &Order, entries: &[Entry], history: &History) -> Result<Outcome, MisfitEffect> {
    let until = |last: EntryNumber| State::fold(entries.iter().filter(|entry| entry.number <= last));
    let last = order.closed.or(history.state().last).unwrap_or(order.opened);
    let (before, after) = (&until(order.opened)?, &until(last)?);
    let authorised: Vec<&Authorised> = order.authorised().into_iter().map(|(_, item)| item).collect();
    let judge = Judge { order, history, authorised: &authorised, after, renewed: renewed(order, entries) };
    let mut lines: Vec<Line> =
        history.timelines().iter().flat_map(|(field, timeline)| judge.field(field, timeline)).collect();
    for item in &authorised {
        match item {
            Authorised::Setting { setting, left } if history.timeline(&Field::Setting(setting.clone())).is_none() => {
                let what = What::Field(Field::Setting(setting.clone()));
                let authorised = Some(left.clone());
                lines.push(Line { what, authorised, found: None, left: None, verdict: Verdict::NotDone });
            }
            Authorised::Record { module, record, left } => {
                let held = |state: &State| state.record(module, record).map(|known| known.bytes.clone());
                let (found, now) = (held(before), held(after));
                let is_so = now.as_ref() == Some(left);
                // Where work in it is recorded, its fields have lines of their own.
                let verdict = if is_so { Verdict::Done(judge.record_doing(module, record)) } else { Verdict::NotDone };
                lines.push(Line {
                    what: What::Record(module.clone(), record.clone()),
                    authorised: Some(left.to_string()),
                    found: found.map(|bytes| bytes.to_string()),
                    left: now.map(|bytes| bytes.to_string()),
                    verdict,
                });
            }
            _ => {}
        }
    }
    lines.extend(judge.units());
    lines.extend(judge.blind(entries));
    lines.sort_by(|a, b| (a.verdict.group(), &a.what).cmp(&(b.verdict.group(), &b.what)));
    Ok(Outcome { lines })
}

struct Judge<'a> {
    order: &'a Order,
    history: &'a History,
    authorised: &'a [&'a Authorised],
    after: &'a State,
    /// What the readings of the order say of modules that became other units or got other software.
    renewed: Vec<(EntryNumber, &'a IdentityEffect)>,
}

fn renewed<'e>(order: &Order, entries: &'e [Entry]) -> Vec<(EntryNumber, &'e IdentityEffect)> {
    let within = |entry: &&Entry| entry.number > order.opened && order.holds(entry.number);
    let effects = entries.iter().filter(within).filter_map(|entry| match &entry.body {
        Body::Reading(reading) => Some(reading.effects.identities.iter().map(|effect| (entry.number, effect))),
        _ => None,
    });
    effects.flatten().filter(|(_, effect)| effect.found.differs_from(&effect.left)).collect()
}

impl Judge<'_> {
    /// The lines of one field: what other hands did, and what the work comes to.
    fn field(&self, field: &Field, timeline: &Timeline) -> Vec<Line> {
        let until: Vec<&Transition> = timeline
            .transitions()
            .iter()
            .filter(|step| self.order.closed.is_none_or(|closed| step.entry <= closed))
            .collect();
        let altered: Vec<&Transition> = until
            .iter()
            .copied()
            .filter(|step| step.entry > self.order.opened && step.origin != Origin::FirstKnown)
            .collect();
        let record = record_of(field, until.last().map(|step| &step.left));
        // Work in a record that is authorised as a whole, and is as authorised, has its line there.
        let covered = record.is_some_and(|record| self.covers(field.module(), record));
        let wanted = self.wanted(field);
        let line = |found: Option<&Content>, left: Option<&Content>, verdict| Line {
            what: What::Field(field.clone()),
            authorised: wanted.map(str::to_owned),
            found: found.map(Content::to_string),
            left: left.map(Content::to_string),
            verdict,
        };
        let is_wanted = |content: &Content| wanted.is_some_and(|wanted| content.to_string() == *wanted);

        let mut lines = Vec::new();
        let work: Vec<&Transition> = altered
            .iter()
            .copied()
            .filter(|step| matches!(step.origin, Origin::Work | Origin::Contradicts(_)))
            .filter(|step| !self.history.never_made(step.entry))
            .collect();
        let last_is = |step: &Transition| altered.last().is_some_and(|last| last.entry == step.entry);
        let with_unit = |step: &Transition| match step.origin {
            Origin::AnotherHand(kind) => self.came_with_unit(field.module(), kind, step.entry),
            _ => false,
        };
        // Work that gives another unit what the old one held alters nothing in the end.
        let held = altered.iter().find(|step| with_unit(step)).and_then(|step| step.found.as_ref());
        let restored = work.last().is_some_and(|last| last_is(last) && held.is_some_and(|held| held.same(&last.left)));
        let mut settled = false;
        for step in &altered {
            let Origin::AnotherHand(kind) = step.origin else { continue };
            let (found, left) = (step.found.as_ref(), Some(&step.left));
            if is_wanted(&step.left) && last_is(step) {
                lines.push(line(found, left, Verdict::Done(Doing::Seen(step.entry))));
                settled = true;
            } else if with_unit(step) {
                if !restored {
                    lines.push(line(found, left, Verdict::Done(Doing::WithUnit(step.entry))));
                }
            } else if !covered {
                lines.push(line(found, left, Verdict::AnotherHand { kind, seen: step.entry }));
            }
        }
        if let (Some(first), Some(last)) = (work.first(), work.last()) {
            let found = if restored { held } else { first.found.as_ref() };
            let left = &last.left;
            let entry = work.iter().rfind(|step| step.origin == Origin::Work).map_or(last.entry, |step| step.entry);
            let proof = self.history.proof(field, entry).unwrap_or(Proof::Stated);
            let unaltered = found.is_some_and(|found| found.same(left));
            if is_wanted(left) && !settled {
                // Where a reading contradicts the work and shows what was ordered, it was not this work that did it.
                let seen = matches!(last.origin, Origin::Contradicts(_));
                let doing = if seen { Doing::Seen(last.entry) } else { Doing::Recorded { entry, proof } };
                lines.push(line(found, Some(left), Verdict::Done(doing)));
                settled = true;
            } else if unaltered {
                lines.push(line(found, Some(left), Verdict::TakenBack { entry: last.entry }));
            } else if !covered && !is_wanted(left) {
                lines.push(line(found, Some(left), Verdict::WithoutAuthority { entry, proof }));
            }
        }
        if wanted.is_some() && !settled {
            let now = until.last().map(|step| &step.left);
            let was_so = now.is_some_and(is_wanted) && altered.is_empty();
            let verdict = if was_so { Verdict::Done(Doing::WasSo) } else { Verdict::NotDone };
            let found = altered.first().map_or(now, |first| first.found.as_ref());
            lines.push(line(found, now, verdict));
        }
        lines
    }

    /// The value that is authorised for a field.
    fn wanted(&self, field: &Field) -> Option<&str> {
        self.authorised.iter().find_map(|item| match (item, field) {
            (Authorised::Setting { setting, left }, Field::Setting(path)) if setting == path => Some(left.as_str()),
            _ => None,
        })
    }

    /// Whether a record is authorised as a whole and is as authorised.
    fn covers(&self, module: &ModuleName, record: &RecordName) -> bool {
        self.authorised.iter().any(|item| match item {
            Authorised::Record { module: of, record: name, left } => {
                (of, name) == (module, record)
                    && self.after.record(module, record).is_some_and(|known| known.bytes == *left)
            }
            _ => false,
        })
    }

    /// How the fields of a record came to be as they are: by the last work in it, else by the last reading.
    fn record_doing(&self, module: &ModuleName, record: &RecordName) -> Doing {
        let mut steps: Vec<(&Field, &Transition)> = Vec::new();
        for (field, timeline) in self.history.timelines() {
            let within = |step: &&Transition| {
                step.entry > self.order.opened && self.order.holds(step.entry) && step.origin != Origin::FirstKnown
            };
            let of_record = |step: &&Transition| record_of(field, Some(&step.left)) == Some(record);
            if field.module() == module {
                steps.extend(timeline.transitions().iter().filter(within).filter(of_record).map(|step| (field, step)));
            }
        }
        let recorded = steps.iter().filter(|(_, step)| step.origin == Origin::Work).max_by_key(|(_, step)| step.entry);
        match (recorded, steps.iter().map(|(_, step)| step.entry).max()) {
            (Some((field, step)), _) => {
                let proof = self.history.proof(field, step.entry).unwrap_or(Proof::Stated);
                Doing::Recorded { entry: step.entry, proof }
            }
            (None, Some(seen)) => Doing::Seen(seen),
            (None, None) => Doing::WasSo,
        }
    }

    /// Whether a content came with a module that became another unit or got other software in this order, as authorised.
    fn came_with_unit(&self, module: &ModuleName, kind: HandKind, seen: EntryNumber) -> bool {
        kind != HandKind::SettingsAltered
            && self.unit(module)
            && self.renewed.iter().any(|(reading, effect)| effect.module == *module && *reading <= seen)
    }

    /// Modules that became other units or got other software, and those of which that is authorised.
    fn units(&self) -> Vec<Line> {
        let mut lines: Vec<Line> = Vec::new();
        for (reading, effect) in &self.renewed {
            let authorised = self.unit(&effect.module);
            let kind = hand_kind(&effect.found, &effect.left);
            let verdict = if authorised {
                Verdict::Done(Doing::Seen(*reading))
            } else {
                Verdict::AnotherHand { kind, seen: *reading }
            };
            let (found, left) = differing(&effect.found, &effect.left);
            lines.push(Line {
                what: What::Unit(effect.module.clone()),
                authorised: authorised.then(|| "another unit or other software".to_owned()),
                found: Some(found),
                left: Some(left),
                verdict,
            });
        }
        for item in self.authorised {
            let Authorised::Unit { module } = item else { continue };
            let what = What::Unit(module.clone());
            if !lines.iter().any(|line| line.what == what) {
                let authorised = Some("another unit or other software".to_owned());
                lines.push(Line { what, authorised, found: None, left: None, verdict: Verdict::NotDone });
            }
        }
        lines
    }

    /// Records that were written without anybody knowing what was in them: no field can tell what was altered there.
    fn blind(&self, entries: &[Entry]) -> Vec<Line> {
        let within = |entry: &&Entry| entry.number > self.order.opened && self.order.holds(entry.number);
        let made = |entry: &&Entry| !self.history.never_made(entry.number);
        let mut lines: Vec<Line> = Vec::new();
        for entry in entries.iter().filter(within).filter(made) {
            let Some(work) = entry.body.work() else { continue };
            for effect in work.effects.records.iter().filter(|effect| effect.found.is_none()) {
                if self.covers(&effect.module, &effect.record) {
                    continue;
                }
                lines.push(Line {
                    what: What::Record(effect.module.clone(), effect.record.clone()),
                    authorised: None,
                    found: None,
                    left: Some(effect.left.to_string()),
                    verdict: Verdict::WithoutAuthority { entry: entry.number, proof: Proof::Stated },
                });
            }
        }
        lines
    }

    fn unit(&self, module: &ModuleName) -> bool {
        self.authorised.iter().any(|item| matches!(item, Authorised::Unit { module: of } if of == module))
    }
}

/// The parts in which two identities differ, of each.
fn differing(found: &Identity, left: &Identity) -> (String, String) {
    let parts = identity_differences(found, left);
    let joined = |side: fn(&IdentityDifference) -> &str| {
        parts.iter().map(|part| format!("{} {}", part.what, side(part))).collect::<Vec<_>>().join(", ")
    };
    (joined(|part| &part.found), joined(|part| &part.left))
}

/// The record that a field lies in, where it lies in one.
fn record_of<'a>(field: &'a Field, content: Option<&'a Content>) -> Option<&'a RecordName> {
    match (field, content) {
        (Field::Undeclared { record, .. }, _) | (_, Some(Content::Coded { record, .. })) => Some(record),
        _ => None,
    }
}
