//! What every plan must keep to.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::entry::{Body, PutBackOf};
use asfound_core::history::{Field, History};
use asfound_core::plan::{Plan, PlanRefusal, Step as PlanStep, Targets, Write};
use asfound_core::safety::SafetyClass;
use asfound_core::value::BitMask;

use crate::knowledge::held;
use crate::support::*;
use crate::world::World;

/// What a plan may alter.
#[derive(Debug, Default)]
pub struct Allowed {
    pub settings: BTreeSet<String>,
    pub bits: BTreeMap<(String, String), Vec<u8>>,
}

impl World {
    pub fn may_refuse(&self, refusal: &PlanRefusal) {
        let rules = self.known.values().any(|known| known.sheet().is_some_and(|sheet| !sheet.rules.is_empty()));
        match refusal {
            PlanRefusal::Nothing
            | PlanRefusal::NothingIn(_)
            | PlanRefusal::NeverMade { .. }
            | PlanRefusal::Blocked(_) => {}
            PlanRefusal::BreaksRules(_) | PlanRefusal::Knot(_) if rules => {}
            refusal => panic!("{refusal:?}"),
        }
    }

    pub fn planned(&self, targets: &Targets, allowed: &Allowed) -> Option<Plan> {
        match self.journal.plan(targets) {
            Ok(plan) => {
                assert_eq!(plan.blocked, []);
                self.is_sound(&plan, allowed);
                Some(plan)
            }
            Err(PlanRefusal::NoWayBack(fields)) => {
                for field in fields {
                    let Field::Setting(path) = field else { panic!("every record that is changed was read") };
                    assert_eq!(self.known[path.module.as_str()].says(path.setting.as_str()), None, "it is known");
                }
                None
            }
            // Bits at random may be a value that a setting cannot be wanted to have; nothing else is asked for.
            Err(refusal) => {
                self.may_refuse(&refusal);
                None
            }
        }
    }

    /// A put-back alters only fields that the entries altered, each to what it held before one of them.
    pub fn goes_back(&self, history: &History, plan: &Plan, taken: impl Fn(u32) -> bool) {
        let mut allowed = Allowed::default();
        let mut back: BTreeMap<String, Vec<Held>> = BTreeMap::new();
        for (module, known) in &self.known {
            for (name, steps) in known.lives() {
                let steps = steps.iter().filter(|step| taken(step.entry) && step.came != Came::First);
                let before: Vec<Held> = steps.filter_map(|step| step.found.clone()).collect();
                if !before.is_empty() {
                    allowed.settings.insert(format!("{module}.{name}"));
                    back.insert(format!("{module}.{name}"), before);
                }
            }
        }
        for (field, timeline) in history.timelines() {
            if let Field::Undeclared { module, record, mask } = field
                && timeline.transitions().iter().any(|step| taken(step.entry.get()))
            {
                let length = self.known[module.as_str()].records[&record.to_string()].bytes.len();
                let bits =
                    allowed.bits.entry((module.to_string(), record.to_string())).or_insert_with(|| vec![0; length]);
                bits.iter_mut().enumerate().for_each(|(at, byte)| *byte |= mask.byte(at));
            }
        }
        self.is_sound(plan, &allowed);
        for step in &plan.steps {
            let for_a_time = |name| step.intermediate.as_ref().is_some_and(|it| it.for_a_time.contains(name));
            for altered in step.settings.iter().filter(|altered| !for_a_time(&altered.setting)) {
                let path = format!("{}.{}", step.module, altered.setting);
                let left = held(&altered.left, &self.known[step.module.as_str()]);
                assert!(
                    back[&path].iter().any(|before| before.same(&left)),
                    "{path} = {left:?}, held {:?}",
                    back[&path]
                );
            }
        }
    }

    /// Of a field that a put-back alters, every later alteration that stays was put back already, or put something back.
    pub fn nothing_in_the_way(&self, plan: &Plan, taken: impl Fn(u32) -> bool) {
        let put_backs: Vec<(u32, &PutBackOf)> = self
            .journal
            .entries
            .iter()
            .filter_map(|entry| match &entry.body {
                Body::PutBack(of, _) => Some((entry.number.get(), of)),
                _ => None,
            })
            .collect();
        let undone = |entry: u32| {
            put_backs.iter().any(|(by, of)| {
                let covers = match of {
                    PutBackOf::Entries(entries) => entries.contains(&number(entry)),
                    PutBackOf::ReturnTo(to) => entry > to.get(),
                };
                *by == entry || (*by > entry && covers)
            })
        };
        for step in plan.steps.iter().filter(|step| step.intermediate.is_none()) {
            for altered in &step.settings {
                let steps = self.known[step.module.as_str()].life(altered.setting.as_str());
                let left = held(&altered.left, &self.known[step.module.as_str()]);
                let back = |step: &&Step| taken(step.entry) && step.found.as_ref().is_some_and(|it| it.same(&left));
                // Several of them may have found the same, and the earlier ones may be undone already.
                let free = |first: &Step| {
                    let mut later = steps.iter().filter(|step| step.entry > first.entry && !taken(step.entry));
                    later.all(|step| undone(step.entry))
                };
                assert!(steps.iter().filter(back).any(free), "{altered:?}: something stands in the way: {steps:?}");
            }
        }
    }

    /// Each step expects what is known, writes what was asked for and nothing else, and breaks no rule that held.
    pub fn is_sound(&self, plan: &Plan, allowed: &Allowed) {
        let mut known = self.known.clone();
        // Of each record or setting, whether the last write so far left what is wanted.
        let mut written: BTreeMap<String, bool> = BTreeMap::new();
        let broken_before = broken_rules(&known);
        let mut restricted = false;
        for step in &plan.steps {
            assert!(!restricted || step.class == SafetyClass::Restricted, "restricted steps come last");
            restricted |= step.class == SafetyClass::Restricted;
            let earlier = written.insert(format!("{} {:?}", step.module, place(step)), step.intermediate.is_none());
            assert_ne!(earlier, Some(true), "a record that is as wanted is written again");
            for altered in &step.settings {
                assert!(allowed.settings.contains(&format!("{}.{}", step.module, altered.setting)), "{altered:?}");
            }
            let module = known.get_mut(step.module.as_str()).unwrap();
            match &step.write {
                Write::Record { record, expect, write, volatile } => {
                    let name = record.to_string();
                    let bytes = &module.records[&name];
                    assert!(bytes.current && bytes.bytes == expect.as_slice(), "what is expected is what is known");
                    check_write(module, step, &name, expect.as_slice(), write.as_slice(), volatile, allowed);
                    module.records.get_mut(&name).unwrap().bytes = write.as_slice().to_vec();
                }
                Write::ByName { setting, expect, write } => {
                    assert_eq!(module.says(setting.as_str()).and_then(|held| held.value), *expect);
                    assert_ne!(expect.as_ref(), Some(write));
                    module.stated.insert(setting.to_string(), write.clone());
                }
                Write::BlindRecord { .. } => panic!("every record that is changed was read"),
            }
            let after = broken_rules(&known);
            assert!(after.is_subset(&broken_before), "{step:?} breaks {after:?}, before the plan {broken_before:?}");
        }
        assert!(written.values().all(|wanted| *wanted), "every record is as wanted in the end: {plan:?}");
    }
}

fn place(step: &PlanStep) -> String {
    match &step.write {
        Write::Record { record, .. } | Write::BlindRecord { record, .. } => record.to_string(),
        Write::ByName { setting, .. } => setting.to_string(),
    }
}

fn check_write(
    module: &KnownModule,
    step: &PlanStep,
    name: &str,
    expect: &[u8],
    write: &[u8],
    volatile: &BitMask,
    allowed: &Allowed,
) {
    let mut may = vec![0_u8; expect.len()];
    if let Some(bits) = allowed.bits.get(&(step.module.to_string(), name.to_owned())) {
        may.iter_mut().zip(bits).for_each(|(may, bits)| *may |= bits);
    }
    let mut unnamed = vec![0xFF; expect.len()];
    let mut differs = false;
    if let Some((sheet, record)) = module.sheet().and_then(|sheet| Some((sheet, sheet.record(name)?))) {
        unnamed = sheet.undeclared(record);
        may.iter_mut().zip(&unnamed).for_each(|(may, unnamed)| *may &= unnamed);
        for setting in sheet.settings.iter().filter(|setting| setting.record == record) {
            let altered = step.settings.iter().any(|altered| altered.setting.as_str() == setting.name);
            assert_eq!(altered, setting.coded(expect) != setting.coded(write), "{}", setting.name);
            differs |= altered;
            may[setting.byte] |= if altered { setting.mask() } else { 0 };
        }
        let layout = &sheet.records[record];
        assert!(layout.checksum_holds(write), "{write:?}");
        layout.checksum.into_iter().for_each(|at| may[at] = 0xFF);
        // A wrong checksum is put right, also where nothing else is to be written.
        differs |= !layout.checksum_holds(expect);
        let at = layout.volatile.map(|at| (at, 0xFF));
        assert_eq!((0..expect.len()).map(|at| (at, volatile.byte(at))).find(|(_, mask)| *mask != 0), at);
        // A whole record that is wanted may bring other volatile bytes; otherwise they stay.
        if allowed.bits.values().any(|bits| bits.iter().all(|byte| *byte == 0xFF)) {
            layout.volatile.into_iter().for_each(|at| may[at] = 0xFF);
        }
    }
    for at in 0..expect.len() {
        let moved = expect[at] ^ write[at];
        assert_eq!(moved & !may[at], 0, "byte {at} of {name}: {expect:02X?} {write:02X?}");
        assert_eq!(step.undeclared.byte(at), moved & unnamed[at], "byte {at} of {name}");
        differs |= moved & unnamed[at] != 0;
    }
    assert!(differs, "the record is right already");
}

/// The rules that are broken for certain.
fn broken_rules(known: &BTreeMap<String, KnownModule>) -> BTreeSet<String> {
    let value = |path: &str| {
        let (module, name) = path.split_once('.').unwrap();
        known.get(module)?.says(name)?.value
    };
    let rules = known.values().filter_map(KnownModule::sheet).flat_map(|sheet| &sheet.rules);
    rules.filter(|rule| rule.is_broken(value)).map(|rule| rule.name.clone()).collect()
}
