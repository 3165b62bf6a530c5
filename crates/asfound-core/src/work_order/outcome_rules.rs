//! What each field, record and module of an order comes to.

use std::collections::{BTreeMap, BTreeSet};

use super::outcome_builder::WholeRecord;
use super::{HowDone, OrderVerdict, OutcomeLine, OutcomeSubject, Term, TermEvent, WorkOrder};
use crate::definition::DefinitionSet;
use crate::difference::{Content, IdentityDifference, identity_differences};
use crate::entry::{AuthorisedItem, IdentityEffect, Moment, RecordEffect, TermSubject};
use crate::history::{Doubt, Field, HandKind, History, Origin, Proof, Timeline, Transition, hand_kind};
use crate::identity::Identity;
use crate::names::{EntryNumber, ModuleName, RecordName};
use crate::sameness::Sameness;
use crate::value::HexBytes;

/// What the lines of one order follow from.
pub(super) struct OutcomeRules<'a> {
    pub(super) order: &'a WorkOrder,
    pub(super) history: &'a History,
    pub(super) definitions: &'a DefinitionSet,
    pub(super) terms: &'a [Term],
    pub(super) records: &'a [WholeRecord],
    /// What readings of the order say of modules that became other units or got other software.
    pub(super) renewed: &'a [(EntryNumber, IdentityEffect)],
    pub(super) moments: &'a BTreeMap<EntryNumber, Moment>,
    /// The records that are as they were agreed to as a whole, so that their fields need no lines of their own.
    pub(super) covered: BTreeSet<(ModuleName, RecordName)>,
}

/// How something that was done stands to a term of the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum ConsentTiming {
    /// The term was in force when it was done.
    Before,
    /// The customer agreed to it in this entry, when it was done already.
    Afterwards(EntryNumber),
    /// The term was in force when it was done; the customer took it back since, in this entry.
    WithdrawnSince(EntryNumber),
    /// What was agreed to cannot be compared with what was done.
    CannotTell,
    /// It was never agreed to, or was taken back before.
    Never,
}

impl OutcomeRules<'_> {
    /// All lines; `blind` are records that were written without anybody knowing what was in them.
    pub(super) fn lines(mut self, blind: &[(EntryNumber, RecordEffect)]) -> Vec<OutcomeLine> {
        let mut lines: Vec<OutcomeLine> = self.terms.iter().filter_map(|term| self.whole_record(term)).collect();
        self.covered = lines.iter().filter(|line| line.verdict.is_as_agreed()).filter_map(record_in).collect();
        let timelines = self.history.timelines().iter();
        lines.extend(timelines.flat_map(|(field, timeline)| self.field(field, timeline)));
        lines.extend(self.terms.iter().filter_map(|term| self.never_known(term)));
        lines.extend(self.units());
        lines.extend(self.blind(blind));
        lines
    }

    /// How something that was done stands to a term; `compare` holds an item of it against what was done.
    fn agreement(
        &self,
        term: &Term,
        done: EntryNumber,
        compare: impl Fn(&AuthorisedItem) -> Sameness,
    ) -> ConsentTiming {
        let done_before = |event: &TermEvent| match (self.moments.get(&done), self.moments.get(&event.entry())) {
            (Some(done), Some(said)) => done.is_before(said),
            _ => done < event.entry(),
        };
        let meant = |event: &TermEvent| match event {
            TermEvent::Agreed(agreed) => compare(&agreed.item),
            TermEvent::Withdrawn(_) => Sameness::Different,
        };
        let in_force = term.said.iter().rev().find(|event| !done_before(event)).map_or(Sameness::Different, meant);
        let later = || term.said.iter().filter(|event| term.withdrawn().is_none() && done_before(event));
        match (in_force.is_same(), term.withdrawn(), later().find(|event| meant(event).is_same())) {
            (true, None, _) => ConsentTiming::Before,
            (true, Some(withdrawn), _) => ConsentTiming::WithdrawnSince(withdrawn),
            (false, _, Some(event)) => ConsentTiming::Afterwards(event.entry()),
            (false, _, None) if !in_force.is_different() || later().any(|event| !meant(event).is_different()) => {
                ConsentTiming::CannotTell
            }
            (false, _, None) => ConsentTiming::Never,
        }
    }

    /// The line of a setting of which nobody knows anything.
    fn never_known(&self, term: &Term) -> Option<OutcomeLine> {
        let TermSubject::Setting { setting } = &term.subject else { return None };
        let field = Field::Setting(setting.clone());
        let unknown = self.history.timeline(&field).is_none();
        unknown.then(|| OutcomeLine {
            what: OutcomeSubject::Field(field),
            authorised: term.last_agreed().and_then(|agreed| agreed.item.value()),
            found: None,
            left: None,
            verdict: not_done(term),
        })
    }

    /// The line of a record that was authorised as a whole.
    fn whole_record(&self, term: &Term) -> Option<OutcomeLine> {
        let TermSubject::Record { module, record } = &term.subject else { return None };
        let held = self.whole(module, record);
        let (found, now) = held.map_or((None, None), |held| (held.found.as_ref(), held.left.as_ref()));
        // Where work in it is recorded, its fields have lines of their own.
        let verdict = self.record_done(term, module, record, now).unwrap_or_else(|| not_done(term));
        Some(OutcomeLine {
            what: OutcomeSubject::Record(module.clone(), record.clone()),
            authorised: term.last_agreed().and_then(|agreed| agreed.item.value()),
            found: found.map(HexBytes::to_string),
            left: now.map(HexBytes::to_string),
            verdict,
        })
    }

    /// What a record comes to that is as it was agreed to as a whole; nothing where it is not.
    fn record_done(
        &self,
        term: &Term,
        module: &ModuleName,
        record: &RecordName,
        now: Option<&HexBytes>,
    ) -> Option<OrderVerdict> {
        let is_now = |item: &AuthorisedItem| matches!(item, AuthorisedItem::Record { left, .. } if Some(left) == now);
        let how = self.record_doing(module, record);
        match how.entry() {
            Some(done) => {
                let compare = |item: &AuthorisedItem| if is_now(item) { Sameness::Same } else { Sameness::Different };
                self.done(term, how, done, compare)
            }
            None => term.authorised().is_some_and(|agreed| is_now(&agreed.item)).then_some(OrderVerdict::Done(how)),
        }
    }

    /// The verdict of something that is as one of the terms has it; nothing where none had it in force.
    fn done(
        &self,
        term: &Term,
        how: HowDone,
        done: EntryNumber,
        compare: impl Fn(&AuthorisedItem) -> Sameness,
    ) -> Option<OrderVerdict> {
        match self.agreement(term, done, compare) {
            ConsentTiming::Before => Some(OrderVerdict::Done(how)),
            ConsentTiming::Afterwards(consent) => Some(OrderVerdict::AgreedAfterwards { how, consent }),
            ConsentTiming::WithdrawnSince(withdrawn) => Some(OrderVerdict::Withdrawn { withdrawn, done: Some(done) }),
            ConsentTiming::CannotTell => Some(OrderVerdict::CannotTell { doubt: Doubt::Comparison, seen: done }),
            ConsentTiming::Never => None,
        }
    }

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
        let term = self.term_of(field);
        let last_agreed = term.and_then(Term::last_agreed).map(|agreed| &agreed.item);
        let wanted = last_agreed.filter(|_| term.is_some_and(|term| term.withdrawn().is_none()));
        let line = |found: Option<&Content>, left: Option<&Content>, verdict| OutcomeLine {
            what: OutcomeSubject::Field(field.clone()),
            authorised: last_agreed.and_then(AuthorisedItem::value),
            found: found.map(Content::to_string),
            left: left.map(Content::to_string),
            verdict,
        };
        let as_item = |content: &Content, item: &AuthorisedItem| {
            item.value().map(|value| content.compare(&self.typed(field, content, &value)))
        };
        let as_wanted = |content: &Content| wanted.and_then(|wanted| as_item(content, wanted));
        // What is as a term has it, or had it before the customer took it back.
        let done = |how: HowDone, entry: EntryNumber, content: &Content| {
            self.done(term?, how, entry, |item| as_item(content, item).unwrap_or(Sameness::Different))
        };
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
            let seen = || done(HowDone::Seen(step.entry), step.entry, &step.left);
            if last_is(step)
                && let Some(verdict) = seen()
            {
                lines.push(line(found, left, verdict));
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
            // Where a reading contradicts the work and shows what was ordered, it was not this work that did it.
            let seen = matches!(last.origin, Origin::Contradicts(_));
            let how = if seen { HowDone::Seen(last.entry) } else { HowDone::Recorded { entry, proof } };
            let as_agreed = done(how, if seen { last.entry } else { entry }, left);
            if let Some(verdict) = as_agreed.filter(|_| !(settled || unaltered && wanted.is_none())) {
                lines.push(line(found, Some(left), verdict));
                settled = true;
            } else if unaltered {
                lines.push(line(found, Some(left), OrderVerdict::TakenBack { entry: last.entry }));
                settled |= wanted.is_none();
            } else if !covered && !is_wanted(left) {
                lines.push(line(found, Some(left), OrderVerdict::WithoutAuthority { entry, proof }));
            }
        }
        if let Some(term) = term.filter(|_| !settled) {
            let now = until.last().map(|step| &step.left);
            let was_so = now.is_some_and(is_wanted) && altered.is_empty();
            let verdict = match until.last() {
                _ if was_so => OrderVerdict::Done(HowDone::WasSo),
                Some(last) if undecided(&last.left) => cannot_tell(last),
                _ => not_done(term),
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

    /// The term that a field has.
    fn term_of(&self, field: &Field) -> Option<&Term> {
        self.terms.iter().find(|term| match (&term.subject, field) {
            (TermSubject::Setting { setting }, Field::Setting(path)) => setting == path,
            _ => false,
        })
    }

    fn covers(&self, module: &ModuleName, record: &RecordName) -> bool {
        self.covered.contains(&(module.clone(), record.clone()))
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
            && self.renewed.iter().any(|(reading, effect)| {
                effect.module == *module && *reading <= seen && self.unit(module, *reading).is_some()
            })
    }

    /// Modules that became other units or got other software, and those of which that is authorised.
    fn units(&self) -> Vec<OutcomeLine> {
        let mut lines: Vec<OutcomeLine> = Vec::new();
        for (reading, effect) in self.renewed {
            let kind = hand_kind(&effect.found, &effect.left);
            let agreed = self.unit(&effect.module, *reading);
            let verdict = agreed.unwrap_or(OrderVerdict::AnotherHand { kind, seen: *reading });
            let (found, left) = differing(&effect.found, &effect.left);
            lines.push(OutcomeLine {
                what: OutcomeSubject::Unit(effect.module.clone()),
                authorised: agreed.map(|_| ANOTHER_UNIT.to_owned()),
                found: Some(found),
                left: Some(left),
                verdict,
            });
        }
        for term in self.terms {
            let TermSubject::Unit { module } = &term.subject else { continue };
            let what = OutcomeSubject::Unit(module.clone());
            if !lines.iter().any(|line| line.what == what) {
                let authorised = Some(ANOTHER_UNIT.to_owned());
                lines.push(OutcomeLine { what, authorised, found: None, left: None, verdict: not_done(term) });
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

    /// What it comes to that a module became another unit or got other software, as this reading shows; nothing where no term
    /// had that in force.
    fn unit(&self, module: &ModuleName, reading: EntryNumber) -> Option<OrderVerdict> {
        let about = |term: &&Term| matches!(&term.subject, TermSubject::Unit { module: of } if of == module);
        self.terms
            .iter()
            .find(about)
            .and_then(|term| self.done(term, HowDone::Seen(reading), reading, |_| Sameness::Same))
    }
}

/// What is authorised of a module that is to become another unit or to get other software.
const ANOTHER_UNIT: &str = "another unit or other software";

/// What a term comes to of which nothing was done.
fn not_done(term: &Term) -> OrderVerdict {
    match term.withdrawn() {
        Some(withdrawn) => OrderVerdict::Withdrawn { withdrawn, done: None },
        None => OrderVerdict::NotDone,
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

/// The record that a line is about as a whole.
fn record_in(line: &OutcomeLine) -> Option<(ModuleName, RecordName)> {
    match &line.what {
        OutcomeSubject::Record(module, record) => Some((module.clone(), record.clone())),
        _ => None,
    }
}

/// The record that a field lies in, where it lies in one.
fn record_of<'a>(field: &'a Field, content: Option<&'a Content>) -> Option<&'a RecordName> {
    match (field, content) {
        (Field::Undeclared { record, .. }, _) | (_, Some(Content::Coded { record, .. })) => Some(record),
        _ => None,
    }
}
