//! What was authorised, against what was done.

use super::{HowDone, OrderOutcome, OrderVerdict, OutcomeLine, OutcomeSubject, WorkOrder};
use crate::definition::DefinitionSet;
use crate::difference::{Content, IdentityDifference, identity_differences};
use crate::entry::{AuthorisedItem, Body, Entry, IdentityEffect, ReadingRole, RecordEffect};
use crate::history::{Doubt, Field, HandKind, History, OpenStep, Origin, Proof, Timeline, Transition, hand_kind};
use crate::identity::Identity;
use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::sameness::Sameness;
use crate::state::{InvalidEffect, State};
use crate::value::HexBytes;

/// Holds what was authorised against what was done in the entries of an order.
///
/// `entries` and `history` are those of the whole journal; [`OutcomeBuilder`] is the same for entries that are not all at hand.
///
/// # Errors
/// When the entries do not follow from each other.
pub fn outcome<'e>(
    order: &WorkOrder,
    entries: impl IntoIterator<Item = &'e Entry>,
    history: &History,
    definitions: &DefinitionSet,
) -> Result<OrderOutcome, InvalidEffect> {
    let mut outcomes = OutcomeBuilder::of(vec![order.clone()]);
    entries.into_iter().try_for_each(|entry| outcomes.push(entry))?;
    Ok(outcomes.finish(history, definitions).pop().map(|(_, outcome)| outcome).unwrap_or_default())
}

/// What of a journal's entries the outcomes of its orders follow from, taken in one entry after the other.
///
/// What is compared ends with the closing of an order; levels of proof come from the whole journal. What was done is judged by
/// what is left of it: work that a later entry of the same order took back is done without authority no longer.
#[derive(Debug, Clone)]
pub struct OutcomeBuilder {
    state: State,
    /// By their opening.
    orders: Vec<OrderState>,
}

/// One order, and what its entries tell beside the life of each field.
#[derive(Debug, Clone)]
struct OrderState {
    order: WorkOrder,
    /// The records that are authorised as a whole.
    records: Vec<WholeRecord>,
    /// What the readings of the order say of modules that became other units or got other software.
    renewed: Vec<(EntryNumber, IdentityEffect)>,
    /// Records that were written without anybody knowing what was in them.
    blind: Vec<(EntryNumber, RecordEffect)>,
    last_work: Option<EntryNumber>,
    /// The last reading as left.
    as_left: Option<EntryNumber>,
}

/// A record that is authorised as a whole, with what it held before the order and what it holds in the end.
#[derive(Debug, Clone)]
struct WholeRecord {
    module: ModuleName,
    record: RecordName,
    found: Option<HexBytes>,
    left: Option<HexBytes>,
}

impl OutcomeBuilder {
    /// Before the first entry; `orders` are orders of the journal.
    pub fn of(orders: Vec<WorkOrder>) -> Self {
        let mut orders: Vec<OrderState> = orders.into_iter().map(OrderState::of).collect();
        orders.sort_by_key(|one| one.order.opened);
        Self { state: State::default(), orders }
    }

    /// Takes in the next entry.
    ///
    /// # Errors
    /// When it does not follow from those before.
    pub fn push(&mut self, entry: &Entry) -> Result<(), InvalidEffect> {
        self.state.apply(entry)?;
        // One order is open at a time.
        let before = self.orders.partition_point(|one| one.order.opened <= entry.number);
        let holds = |one: &&mut OrderState| one.order.holds(entry.number);
        if let Some(one) = self.orders[..before].last_mut().filter(holds) {
            one.push(entry, &self.state);
        }
        Ok(())
    }

    /// The orders with what they come to; `history` is that of the same entries, by the same definitions.
    pub fn finish(mut self, history: &History, definitions: &DefinitionSet) -> Vec<(WorkOrder, OrderOutcome)> {
        for one in self.orders.iter_mut().filter(|one| one.order.closed.is_none()) {
            one.look_at_what_is_left(&self.state);
        }
        self.orders
            .into_iter()
            .map(|one| {
                let outcome = one.outcome(history, definitions);
                (one.order, outcome)
            })
            .collect()
    }
}

impl OrderState {
    fn of(order: WorkOrder) -> Self {
        let records = order.authorised().into_iter().filter_map(|(_, item)| match item {
            AuthorisedItem::Record { module, record, .. } => {
                Some(WholeRecord { module: module.clone(), record: record.clone(), found: None, left: None })
            }
            _ => None,
        });
        let records = records.collect();
        Self { order, records, renewed: Vec::new(), blind: Vec::new(), last_work: None, as_left: None }
    }

    fn push(&mut self, entry: &Entry, state: &State) {
        let number = entry.number;
        if number == self.order.opened {
            self.records.iter_mut().for_each(|one| one.found = one.in_state(state));
        } else if let Body::Reading(reading) = &entry.body {
            let effects = reading.effects.identities.iter().filter(|effect| effect.found.differs_from(&effect.left));
            self.renewed.extend(effects.map(|effect| (number, effect.clone())));
            if reading.role == ReadingRole::AsLeft {
                self.as_left = Some(number);
            }
        } else if let Some(work) = entry.body.work() {
            let effects = work.effects.records.iter().filter(|effect| effect.found.is_none());
            self.blind.extend(effects.map(|effect| (number, effect.clone())));
            self.last_work = Some(number);
        }
        if self.order.closed == Some(number) {
            self.look_at_what_is_left(state);
        }
    }

    fn look_at_what_is_left(&mut self, state: &State) {
        self.records.iter_mut().for_each(|one| one.left = one.in_state(state));
    }

    fn outcome(&self, history: &History, definitions: &DefinitionSet) -> OrderOutcome {
        let order = &self.order;
        let authorised: Vec<&AuthorisedItem> = order.authorised().into_iter().map(|(_, item)| item).collect();
        let (records, renewed) = (&self.records, &self.renewed);
        let judge = OutcomeRules { order, history, definitions, authorised: &authorised, records, renewed };
        let mut lines: Vec<OutcomeLine> =
            history.timelines().iter().flat_map(|(field, timeline)| judge.field(field, timeline)).collect();
        for item in &authorised {
            match item {
                AuthorisedItem::Setting { setting, left }
                    if history.timeline(&Field::Setting(setting.clone())).is_none() =>
                {
                    let what = OutcomeSubject::Field(Field::Setting(setting.clone()));
                    let authorised = Some(left.clone());
                    lines.push(OutcomeLine {
                        what,
                        authorised,
                        found: None,
                        left: None,
                        verdict: OrderVerdict::NotDone,
                    });
                }
                AuthorisedItem::Record { module, record, left } => {
                    let held = judge.whole(module, record);
                    let (found, now) = held.map_or((None, None), |held| (held.found.as_ref(), held.left.as_ref()));
                    let is_so = now == Some(left);
                    // Where work in it is recorded, its fields have lines of their own.
                    let done = || OrderVerdict::Done(judge.record_doing(module, record));
                    lines.push(OutcomeLine {
                        what: OutcomeSubject::Record(module.clone(), record.clone()),
                        authorised: Some(left.to_string()),
                        found: found.map(HexBytes::to_string),
                        left: now.map(HexBytes::to_string),
                        verdict: if is_so { done() } else { OrderVerdict::NotDone },
                    });
                }
                _ => {}
            }
        }
        lines.extend(judge.units());
        lines.extend(judge.blind(&self.blind));
        lines.sort_by(|a, b| (a.verdict.group(), &a.what).cmp(&(b.verdict.group(), &b.what)));
        let until_closed = |step: &&OpenStep| self.order.closed.is_none_or(|closed| step.entry < closed);
        let open_steps = history.open_steps().open().filter(until_closed).cloned().collect();
        OrderOutcome { lines, read_after_work: self.last_work.is_none_or(|work| self.as_left > Some(work)), open_steps }
    }
}

impl WholeRecord {
    fn in_state(&self, state: &State) -> Option<HexBytes> {
        state.record(&self.module, &self.record).map(|known| known.bytes.clone())
    }
}

struct OutcomeRules<'a> {
    order: &'a WorkOrder,
    history: &'a History,
    definitions: &'a DefinitionSet,
    authorised: &'a [&'a AuthorisedItem],
    records: &'a [WholeRecord],
    renewed: &'a [(EntryNumber, IdentityEffect)],
}

impl OutcomeRules<'_> {
    /// The lines of one field: what other hands did, and what the work comes to.
    fn field(&self, field: &Field, timeline: &Timeline) -> Vec<OutcomeLine> {
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
        let line = |found: Option<&Content>, left: Option<&Content>, verdict| OutcomeLine {
            what: OutcomeSubject::Field(field.clone()),
            authorised: wanted.map(str::to_owned),
            found: found.map(Content::to_string),
            left: left.map(Content::to_string),
            verdict,
        };
        let as_wanted = |content: &Content| wanted.map(|wanted| content.compare(&self.typed(field, content, wanted)));
        let is_wanted = |content: &Content| as_wanted(content).is_some_and(Sameness::is_same);
        let undecided = |content: &Content| matches!(as_wanted(content), Some(Sameness::CannotTell(_)));
        let cannot_tell = |step: &Transition| OrderVerdict::CannotTell { doubt: Doubt::Comparison, seen: step.entry };

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
            // What another unit holds came with it, whether it is a setting or a measured value.
            Origin::CannotTell(Doubt::SettingOrMeasured) => {
                self.renewed.iter().any(|(reading, _)| *reading == step.entry)
                    && self.came_with_unit(field.module(), HandKind::UnitSwapped, step.entry)
            }
            _ => false,
        };
        // Work that gives another unit what the old one held alters nothing in the end.
        let held = altered.iter().find(|step| with_unit(step)).and_then(|step| step.found.as_ref());
        let restored = work.last().is_some_and(|last| last_is(last) && held.is_some_and(|held| held.same(&last.left)));
        let mut settled = false;
        for step in &altered {
            let (found, left) = (step.found.as_ref(), Some(&step.left));
            let kind = match step.origin {
                Origin::AnotherHand(kind) => kind,
                Origin::CannotTell(doubt) if !(is_wanted(&step.left) && last_is(step) || with_unit(step)) => {
                    if !covered {
                        lines.push(line(found, left, OrderVerdict::CannotTell { doubt, seen: step.entry }));
                        settled |= last_is(step) && undecided(&step.left);
                    }
                    continue;
                }
                Origin::CannotTell(_) => HandKind::SettingsAltered,
                _ => continue,
            };
            if is_wanted(&step.left) && last_is(step) {
                lines.push(line(found, left, OrderVerdict::Done(HowDone::Seen(step.entry))));
                settled = true;
            } else if undecided(&step.left) && last_is(step) {
                lines.push(line(found, left, cannot_tell(step)));
                settled = true;
            } else if with_unit(step) {
                if !restored {
                    lines.push(line(found, left, OrderVerdict::Done(HowDone::WithUnit(step.entry))));
                }
            } else if !covered {
                lines.push(line(found, left, OrderVerdict::AnotherHand { kind, seen: step.entry }));
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
                let doing = if seen { HowDone::Seen(last.entry) } else { HowDone::Recorded { entry, proof } };
                lines.push(line(found, Some(left), OrderVerdict::Done(doing)));
                settled = true;
            } else if undecided(left) && !settled {
                lines.push(line(found, Some(left), cannot_tell(last)));
                settled = true;
            } else if unaltered {
                lines.push(line(found, Some(left), OrderVerdict::TakenBack { entry: last.entry }));
            } else if !covered && !is_wanted(left) {
                lines.push(line(found, Some(left), OrderVerdict::WithoutAuthority { entry, proof }));
            }
        }
        if wanted.is_some() && !settled {
            let now = until.last().map(|step| &step.left);
            let was_so = now.is_some_and(is_wanted) && altered.is_empty();
            let verdict = match until.last() {
                _ if was_so => OrderVerdict::Done(HowDone::WasSo),
                Some(last) if undecided(&last.left) => cannot_tell(last),
                _ => OrderVerdict::NotDone,
            };
            let found = altered.first().map_or(now, |first| first.found.as_ref());
            lines.push(line(found, now, verdict));
        }
        lines
    }

    /// What is authorised for a field, typed by the definition that explains its content, else by the one that fits its module.
    fn typed(&self, field: &Field, content: &Content, wanted: &str) -> Content {
        let Field::Setting(path) = field else { return Content::stated(None, wanted) };
        let definition = match content {
            Content::Coded { definition, .. } => self.definitions.get(definition),
            _ => self.definitions.fitting(&path.module, &self.history.state().identity(&path.module)).ok().flatten(),
        };
        Content::stated(definition.and_then(|definition| definition.setting(&path.setting)), wanted)
    }

    /// The value that is authorised for a field.
    fn wanted(&self, field: &Field) -> Option<&str> {
        self.authorised.iter().find_map(|item| match (item, field) {
            (AuthorisedItem::Setting { setting, left }, Field::Setting(path)) if setting == path => Some(left.as_str()),
            _ => None,
        })
    }

    /// Whether a record is authorised as a whole and is as authorised.
    fn covers(&self, module: &ModuleName, record: &RecordName) -> bool {
        self.authorised.iter().any(|item| match item {
            AuthorisedItem::Record { module: of, record: name, left } => {
                (of, name) == (module, record)
                    && self.whole(module, record).is_some_and(|held| held.left.as_ref() == Some(left))
            }
            _ => false,
        })
    }

    fn whole(&self, module: &ModuleName, record: &RecordName) -> Option<&WholeRecord> {
        self.records.iter().find(|one| (&one.module, &one.record) == (module, record))
    }

    /// How the fields of a record came to be as they are: by the last work in it, else by the last reading.
    fn record_doing(&self, module: &ModuleName, record: &RecordName) -> HowDone {
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
                HowDone::Recorded { entry: step.entry, proof }
            }
            (None, Some(seen)) => HowDone::Seen(seen),
            (None, None) => HowDone::WasSo,
        }
    }

    /// Whether a content came with a module that became another unit or got other software in this order, as authorised.
    fn came_with_unit(&self, module: &ModuleName, kind: HandKind, seen: EntryNumber) -> bool {
        kind != HandKind::SettingsAltered
            && self.unit(module)
            && self.renewed.iter().any(|(reading, effect)| effect.module == *module && *reading <= seen)
    }

    /// Modules that became other units or got other software, and those of which that is authorised.
    fn units(&self) -> Vec<OutcomeLine> {
        let mut lines: Vec<OutcomeLine> = Vec::new();
        for (reading, effect) in self.renewed {
            let authorised = self.unit(&effect.module);
            let kind = hand_kind(&effect.found, &effect.left);
            let verdict = if authorised {
                OrderVerdict::Done(HowDone::Seen(*reading))
            } else {
                OrderVerdict::AnotherHand { kind, seen: *reading }
            };
            let (found, left) = differing(&effect.found, &effect.left);
            lines.push(OutcomeLine {
                what: OutcomeSubject::Unit(effect.module.clone()),
                authorised: authorised.then(|| "another unit or other software".to_owned()),
                found: Some(found),
                left: Some(left),
                verdict,
            });
        }
        for item in self.authorised {
            let AuthorisedItem::Unit { module } = item else { continue };
            let what = OutcomeSubject::Unit(module.clone());
            if !lines.iter().any(|line| line.what == what) {
                let authorised = Some("another unit or other software".to_owned());
                lines.push(OutcomeLine { what, authorised, found: None, left: None, verdict: OrderVerdict::NotDone });
            }
        }
        lines
    }

    /// Records that were written without anybody knowing what was in them: no field can tell what was altered there.
    fn blind(&self, effects: &[(EntryNumber, RecordEffect)]) -> impl Iterator<Item = OutcomeLine> {
        let made = effects.iter().filter(|(entry, _)| !self.history.never_made(*entry));
        let uncovered = made.filter(|(_, effect)| !self.covers(&effect.module, &effect.record));
        uncovered.map(|(entry, effect)| OutcomeLine {
            what: OutcomeSubject::Record(effect.module.clone(), effect.record.clone()),
            authorised: None,
            found: None,
            left: Some(effect.left.to_string()),
            verdict: OrderVerdict::WithoutAuthority { entry: *entry, proof: Proof::Stated },
        })
    }

    fn unit(&self, module: &ModuleName) -> bool {
        self.authorised.iter().any(|item| matches!(item, AuthorisedItem::Unit { module: of } if of == module))
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
