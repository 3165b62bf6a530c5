//! Entries are taken back, and work that was never made is taken out of the journal.

use asfound_core::entry::{Body, Correction, PutBackOf};
use asfound_core::history::{Field, Origin};
use asfound_core::plan::PlanRefusal;
use proptest::sample::Index;

use crate::support::*;
use crate::world::World;

impl World {
    /// One of the entries that altered something, or now and then any entry.
    pub fn pick_entry(&mut self, at: Index, work: bool) -> u32 {
        let history = self.journal.history();
        let altered = |entry: &u32| {
            let origin = |origin: Origin| if work { origin == Origin::Work } else { origin != Origin::FirstKnown };
            history.transitions_of(number(*entry)).any(|(_, step)| origin(step.origin))
        };
        let entries: Vec<u32> = (1..=self.last()).filter(altered).collect();
        if entries.is_empty() || self.dice.one_in(12) {
            u32::try_from(at.index(self.last() as usize) + 1).unwrap()
        } else {
            entries[at.index(entries.len())]
        }
    }

    pub fn last(&self) -> u32 {
        u32::try_from(self.journal.entries.len()).unwrap()
    }

    pub fn put_back(&mut self, entries: &[Index]) {
        let entries: Vec<u32> = entries.iter().map(|entry| self.pick_entry(*entry, false)).collect();
        let turned: Vec<u32> = entries.iter().rev().copied().collect();
        let outcome = self.journal.put_back_plan(&entries);
        assert_eq!(outcome, self.journal.put_back_plan(&turned), "the order of listing does not matter");
        let history = self.journal.history();
        match outcome {
            Ok(plan) => {
                let taken = |entry: u32| entries.contains(&entry);
                self.goes_back(&history, &plan, taken);
                self.nothing_in_the_way(&plan, taken);
                if self.carry_out(&plan) {
                    let of = PutBackOf::Entries(entries.iter().copied().map(number).collect());
                    let entry = self.journal.file(Body::PutBack(of, carried_out(&plan)));
                    self.worked(entry, &plan);
                }
            }
            Err(PlanRefusal::Blocked(blockers)) => {
                for blocker in blockers {
                    let life = life(&history, &blocker.field);
                    assert!(entries.contains(&blocker.wanted.get()));
                    assert!(!blocker.in_the_way.is_empty());
                    for entry in blocker.in_the_way {
                        assert!(entry > blocker.wanted && !entries.contains(&entry.get()));
                        assert!(life.iter().any(|step| step.0 == entry.get()), "it altered the field");
                    }
                }
            }
            Err(PlanRefusal::NoEntry(_)) => panic!("every entry is there"),
            Err(refusal) => self.may_refuse(&refusal),
        }
    }

    pub fn put_back_all(&mut self) {
        let history = self.journal.history();
        let altered = |entry: &u32| {
            !history.never_made(number(*entry))
                && history.transitions_of(number(*entry)).any(|(_, step)| step.origin != Origin::FirstKnown)
        };
        let entries: Vec<u32> = (1..=self.last()).filter(altered).collect();
        if entries.is_empty() {
            return;
        }
        match self.journal.put_back_plan(&entries) {
            Ok(plan) => {
                let carried_out = self.carry_out(&plan);
                if !carried_out {
                    return;
                }
                let of = PutBackOf::Entries(entries.iter().copied().map(number).collect());
                let entry = self.journal.file(Body::PutBack(of, crate::support::carried_out(&plan)));
                self.worked(entry, &plan);
                let blocked: Vec<&Field> = plan.blocked.iter().map(|blocked| &blocked.field).collect();
                for (module, known) in &self.known {
                    for (name, steps) in known.lives() {
                        let first = steps[0].found.as_ref().unwrap_or(&steps[0].left);
                        if !blocked.contains(&&field(&format!("{module}.{name}"))) {
                            let now = known.says(&name).or_else(|| known.last(&name)).unwrap();
                            assert!(first.same(&now), "{module}.{name}: first {first:?}, now {now:?}");
                        }
                    }
                }
            }
            Err(PlanRefusal::Blocked(blockers)) => panic!("everything was to be put back: {blockers:?}"),
            Err(refusal) => self.may_refuse(&refusal),
        }
    }

    pub fn return_to(&mut self, entry: Index) {
        let to = u32::try_from(entry.index(self.last() as usize) + 1).unwrap();
        let history = self.journal.history();
        match self.journal.return_to_plan(to) {
            Ok(plan) => {
                self.goes_back(&history, &plan, |entry| entry > to);
                if !self.carry_out(&plan) {
                    return;
                }
                let of = PutBackOf::ReturnTo(number(to));
                let entry = self.journal.file(Body::PutBack(of, carried_out(&plan)));
                let blocked: Vec<Field> = plan.blocked.iter().map(|blocked| blocked.field.clone()).collect();
                let then: Vec<(String, String, Held)> = self
                    .known
                    .iter()
                    .flat_map(|(module, known)| {
                        known.lives().into_iter().map(move |(name, steps)| (module, name, steps))
                    })
                    .map(|(module, name, steps)| {
                        let at = steps.iter().rfind(|step| step.entry <= to).map(|step| &step.left);
                        let first = steps[0].found.as_ref().unwrap_or(&steps[0].left);
                        (module.clone(), name.clone(), at.unwrap_or(first).clone())
                    })
                    .collect();
                self.worked(entry, &plan);
                for (module, name, then) in then {
                    if !blocked.contains(&field(&format!("{module}.{name}"))) {
                        let known = &self.known[&module];
                        let now = known.says(&name).or_else(|| known.last(&name)).unwrap();
                        assert!(then.same(&now), "{module}.{name}: after entry {to} {then:?}, now {now:?}");
                    }
                }
            }
            Err(PlanRefusal::Blocked(blockers)) => panic!("everything later is taken back: {blockers:?}"),
            Err(refusal) => self.may_refuse(&refusal),
        }
    }

    pub fn never_made(&mut self, entry: Index) {
        let entry = self.pick_entry(entry, true);
        let history = self.journal.history();
        // The oracle keeps no account of bits without a name that were never altered.
        if history.transitions_of(number(entry)).any(|(field, _)| matches!(field, Field::Undeclared { .. })) {
            return;
        }
        if let Err(refusal) = self.journal.never_made(entry) {
            return may_refuse_correction(&refusal, entry);
        }
        let Some(Body::Correction(Correction { effects, .. })) = self.journal.entries.last().map(|last| &last.body)
        else {
            panic!("a correction was filed")
        };
        let effects = effects.clone();
        for (module, known) in &mut self.known {
            let records = effects.records.iter().filter(|effect| effect.module.as_str() == module);
            let records = records.map(|effect| (effect.record.to_string(), effect.left.as_slice().to_vec())).collect();
            let values = effects.stated.iter().filter(|effect| effect.module.as_str() == module);
            let values = values.map(|effect| (effect.setting.to_string(), effect.left.clone().unwrap())).collect();
            known.never_made(entry, u32::try_from(self.journal.entries.len()).unwrap(), &records, &values);
        }
    }
}

fn may_refuse_correction(refusal: &PlanRefusal, entry: u32) {
    match refusal {
        // The last: the record was not read since the module was updated.
        PlanRefusal::NothingIn(_) | PlanRefusal::NeverMade { .. } | PlanRefusal::CannotSet { .. } => {}
        // A reading read it back: it gave the field, and it shows what the work left.
        PlanRefusal::Blocked(blockers) => {
            assert!(blockers.iter().all(|blocker| blocker.in_the_way[0] > number(entry)));
        }
        refusal => panic!("{refusal:?}"),
    }
}
