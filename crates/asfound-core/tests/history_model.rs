//! A vehicle in memory is read, altered by its owner and by other hands, updated and put back at random. Whatever happens,
//! the journal must know what was read and written, and no plan may do anything but what was asked for.
#![allow(clippy::pedantic, clippy::unwrap_used, clippy::type_complexity, reason = "tests may stop at what cannot be")]

mod support;

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::difference::Content;
use asfound_core::entry::{Body, Correction};
use asfound_core::history::{Field, History, Origin};
use asfound_core::names::EntryNumber;
use asfound_core::plan::{Plan, PlanRefusal, Step as PlanStep, Targets, Write};
use asfound_core::safety::SafetyClass;
use proptest::prelude::*;
use proptest::sample::Index;
use support::*;

/// What happens to the vehicle or to its journal.
#[derive(Clone, Debug)]
enum Event {
    /// Some modules are read: for each, which records by bytes, which settings by value, and whether it is asked what it is.
    Read([Option<(u8, u8, bool)>; 3]),
    /// Settings are changed as the plan says.
    Change(Vec<(Index, Index)>),
    /// Bits of a record are changed, also ones that nobody has named.
    ChangeBits(Index, u8, u8),
    /// Somebody writes down a change that was not made.
    Claim(Index, Index),
    /// Another hand sets a setting.
    Hand(Index, Index),
    /// Another hand alters bits.
    HandBits(Index, u8),
    Update(Index),
    Swap(Index),
    PutBack(Vec<Index>),
    PutBackAll,
    ReturnTo(Index),
    NeverMade(Index),
}

/// Events, one a line when a case that fails is shown.
#[derive(Clone)]
struct Events(Vec<Event>);

impl std::fmt::Debug for Events {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.iter().try_for_each(|event| write!(f, "\n  {event:?}"))
    }
}

fn events() -> impl Strategy<Value = Events> {
    let index = any::<Index>;
    let said = || prop::option::of((any::<u8>(), any::<u8>(), any::<bool>()));
    let all = || Just(Some((0xFF, 0, true)));
    prop::collection::vec(
        prop_oneof![
            3 => [all(), all(), all()].prop_map(Event::Read),
            4 => [said(), said(), said()].prop_map(Event::Read),
            6 => prop::collection::vec((index(), index()), 1..4).prop_map(Event::Change),
            3 => (index(), any::<u8>(), any::<u8>()).prop_map(|(at, x, y)| Event::ChangeBits(at, x, y)),
            1 => (index(), index()).prop_map(|(at, value)| Event::Claim(at, value)),
            2 => (index(), index()).prop_map(|(at, value)| Event::Hand(at, value)),
            1 => (index(), any::<u8>()).prop_map(|(at, bits)| Event::HandBits(at, bits)),
            1 => index().prop_map(Event::Update),
            1 => index().prop_map(Event::Swap),
            5 => prop::collection::vec(index(), 1..4).prop_map(Event::PutBack),
            1 => Just(Event::PutBackAll),
            2 => index().prop_map(Event::ReturnTo),
            2 => index().prop_map(Event::NeverMade),
        ],
        1..30,
    )
    .prop_map(Events)
}

struct World {
    dice: Dice,
    units: Vec<Unit>,
    known: BTreeMap<String, KnownModule>,
    journal: Journal,
}

impl World {
    fn new(seed: u64) -> Self {
        let units = roll_vehicle(seed);
        let texts: Vec<String> = units.iter().flat_map(|unit| unit.sheets.iter().map(Sheet::text)).collect();
        let journal = Journal::new(texts.iter().map(String::as_str));
        let known = units.iter().map(|unit| (unit.name.clone(), KnownModule::new(unit.sheets.clone()))).collect();
        let mut world = Self { dice: Dice::new(seed ^ 0xA5A5), units, known, journal };
        if world.dice.below(4) > 0 {
            world.read(&[Some((0xFF, 0, true)); 3]);
        }
        world
    }

    fn happens(&mut self, event: &Event) {
        self.units.iter_mut().for_each(Unit::tick);
        match event {
            Event::Read(said) => self.read(said),
            Event::Change(wanted) => self.change(wanted),
            Event::ChangeBits(at, x, y) => self.change_bits(*at, *x, *y),
            Event::Claim(at, value) => self.claim(*at, *value),
            Event::Hand(at, value) => {
                let at = at.index(self.units.len());
                let settings = self.units[at].sheet().map(|sheet| sheet.settings.clone()).unwrap_or_default();
                if !settings.is_empty() {
                    let setting = &settings[value.index(settings.len())];
                    let values = setting.values();
                    let value = values[self.dice.below(values.len())].clone();
                    self.units[at].put_value(&setting.name, &value);
                }
            }
            Event::HandBits(at, bits) => {
                let at = at.index(self.units.len());
                let record = self.dice.below(self.units[at].records.len());
                let bytes = &mut self.units[at].records[record].1;
                let byte = self.dice.below(bytes.len());
                bytes[byte] ^= bits;
                self.units[at].set_checksums();
            }
            Event::Update(at) => self.units[at.index(2)].update(&mut self.dice),
            Event::Swap(at) => {
                let at = at.index(3);
                self.units[at].swap(&mut self.dice);
            }
            Event::PutBack(entries) => self.put_back(entries),
            Event::PutBackAll => self.put_back_all(),
            Event::ReturnTo(entry) => self.return_to(*entry),
            Event::NeverMade(entry) => self.never_made(*entry),
        }
    }

    // Readings.

    fn read(&mut self, wanted: &[Option<(u8, u8, bool)>; 3]) {
        let mut said = reading();
        let mut told: BTreeMap<String, Tells> = BTreeMap::new();
        for (unit, wanted) in self.units.iter().zip(wanted) {
            let Some((by_bytes, by_value, asked)) = wanted else { continue };
            let known = &self.known[&unit.name];
            let mut tells = Tells::default();
            said = said.module(&unit.name);
            let other = known.serial != Some(unit.serial) || known.sheet != unit.sheet().map(|_| unit.software);
            if *asked || other {
                said = said.serial(&format!("N{}", unit.serial));
                tells.serial = Some(unit.serial);
                if let Some(sheet) = unit.sheet() {
                    said = said.software(&sheet.software);
                    tells.software = Some(unit.software);
                }
            }
            for (at, (name, bytes)) in unit.records.iter().enumerate().filter(|(at, _)| by_bytes >> at & 1 == 1) {
                said = said.record(name, &shown(bytes));
                tells.records.insert(unit.records[at].0.clone(), bytes.clone());
            }
            for (at, setting) in unit.sheet().into_iter().flat_map(|sheet| sheet.settings.iter().enumerate()) {
                let value = setting.value(&unit.records[setting.record].1);
                if let Some(value) = value.filter(|_| by_value >> at & 1 == 1) {
                    said = said.value(&setting.name, &value);
                    tells.values.insert(setting.name.clone(), value);
                }
            }
            told.insert(unit.name.clone(), tells);
        }
        if told.is_empty() {
            return;
        }
        let entry = self.journal.read(said);
        for (name, tells) in told {
            self.known.get_mut(&name).expect("a module").take_in(entry, true, &tells);
        }
    }

    // Work.

    /// A setting and a value that it can have, of what the journal knows of modules; often the same few, so that changes meet.
    fn pick(&mut self, at: Index, value: Index) -> Option<(String, String)> {
        let settings: Vec<(&str, &Setting)> = self
            .known
            .iter()
            .filter_map(|(name, known)| Some((name, known.sheet()?)))
            .flat_map(|(name, sheet)| sheet.settings.iter().map(move |setting| (name.as_str(), setting)))
            .collect();
        let among = if self.dice.one_in(3) { settings.len() } else { settings.len().min(2) };
        let (module, setting) = settings.get(at.index(among.max(1)))?;
        let values = setting.values();
        Some((format!("{module}.{}", setting.name), values[value.index(values.len())].clone()))
    }

    fn change(&mut self, wanted: &[(Index, Index)]) {
        let wanted: BTreeMap<String, String> = wanted.iter().filter_map(|(at, value)| self.pick(*at, *value)).collect();
        let wanted: Vec<(&str, &str)> = wanted.iter().map(|(path, value)| (path.as_str(), value.as_str())).collect();
        if wanted.is_empty() {
            return;
        }
        let targets = self.journal.targets(&wanted);
        let settings = wanted.iter().map(|(path, _)| (*path).to_owned()).collect();
        let Some(plan) = self.planned(&targets, &Allowed { settings, bits: BTreeMap::new() }) else { return };
        for step in &plan.steps {
            for altered in &step.settings {
                let wanted = wanted.iter().find(|(path, _)| *path == format!("{}.{}", step.module, altered.setting));
                assert_eq!(altered.left.to_string(), wanted.expect("wanted").1);
            }
        }
        if self.carry_out(&plan) {
            let entry = self.journal.file(Body::Change(plan.work(Vec::new())));
            self.worked(entry, &plan);
        }
    }

    fn change_bits(&mut self, at: Index, x: u8, y: u8) {
        let records: Vec<(String, String, Vec<u8>)> = self
            .known
            .iter()
            .flat_map(|(module, known)| known.records.iter().map(move |record| (module, record)))
            .filter(|(_, (_, known))| known.current)
            .map(|(module, (record, known))| (module.clone(), record.clone(), known.bytes.clone()))
            .collect();
        let Some((module, record, bytes)) = records.get(at.index(records.len().max(1))) else { return };
        let mut wanted = bytes.clone();
        let last = wanted.len() - 1;
        wanted[0] ^= x;
        wanted[last] ^= y;
        let mut targets = Targets::new();
        targets.choose_record(module.parse().unwrap(), record.parse().unwrap(), hex(&shown(&wanted)));
        let known = &self.known[module];
        let named = known.sheet().map(|sheet| {
            let number = sheet.record(record);
            sheet.settings.iter().filter(move |setting| Some(setting.record) == number)
        });
        let settings = named.into_iter().flatten().map(|setting| format!("{module}.{}", setting.name)).collect();
        let bits = [((module.clone(), record.clone()), vec![0xFF; bytes.len()])].into();
        let Some(plan) = self.planned(&targets, &Allowed { settings, bits }) else { return };
        if self.carry_out(&plan) {
            let entry = self.journal.file(Body::Change(plan.work(Vec::new())));
            self.worked(entry, &plan);
        }
    }

    fn claim(&mut self, at: Index, value: Index) {
        let Some((path, value)) = self.pick(at, value) else { return };
        let targets = self.journal.targets(&[(&path, &value)]);
        let Some(plan) = self.planned(&targets, &Allowed { settings: [path].into(), bits: BTreeMap::new() }) else {
            return;
        };
        let entry = self.journal.file(Body::Change(plan.work(Vec::new())));
        self.worked(entry, &plan);
    }

    /// Does what a plan says, each step as compare and set; nothing where the vehicle is not what the journal knows.
    fn carry_out(&mut self, plan: &Plan) -> bool {
        let mut units = self.units.clone();
        for step in &plan.steps {
            let unit = units.iter_mut().find(|unit| unit.name == step.module.as_str()).expect("a module");
            let known = &self.known[&unit.name];
            if known.sheet != unit.sheet().map(|_| unit.software) || known.serial != Some(unit.serial) {
                return false;
            }
            match &step.write {
                Write::Record { record, expect, write, volatile } => {
                    let record = unit.record(&record.to_string()).expect("a record of the module");
                    let bytes = &mut unit.records[record].1;
                    let differs = |at: usize| (bytes[at] ^ expect.as_slice()[at]) & !volatile.byte(at) != 0;
                    if (0..bytes.len()).any(differs) {
                        return false;
                    }
                    for (at, byte) in bytes.iter_mut().enumerate() {
                        *byte = *byte & volatile.byte(at) | write.as_slice()[at] & !volatile.byte(at);
                    }
                }
                Write::ByName { setting, expect, write } => {
                    let sheet = unit.sheet().cloned().expect("the module is defined");
                    let Some(it) = sheet.setting(setting.as_str()) else { return false };
                    if it.value(&unit.records[it.record].1) != *expect {
                        return false;
                    }
                    unit.put_value(setting.as_str(), write);
                }
                Write::BlindRecord { .. } => panic!("every record that is written was read: {step:?}"),
            }
        }
        self.units = units;
        true
    }

    /// Lets the oracle know of work that was filed.
    fn worked(&mut self, entry: EntryNumber, plan: &Plan) {
        let mut told: BTreeMap<String, Tells> = BTreeMap::new();
        for step in &plan.steps {
            let tells = told.entry(step.module.to_string()).or_default();
            match &step.write {
                Write::Record { record, write, .. } | Write::BlindRecord { record, write, .. } => {
                    tells.records.insert(record.to_string(), write.as_slice().to_vec());
                }
                Write::ByName { setting, write, .. } => {
                    tells.values.insert(setting.to_string(), write.clone());
                }
            }
        }
        for (name, tells) in told {
            self.known.get_mut(&name).expect("a module").take_in(entry.get(), false, &tells);
        }
    }

    // Putting back.

    /// One of the entries that altered something, or now and then any entry.
    fn pick_entry(&mut self, at: Index, work: bool) -> u32 {
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

    fn last(&self) -> u32 {
        u32::try_from(self.journal.entries.len()).unwrap()
    }

    fn put_back(&mut self, entries: &[Index]) {
        let entries: Vec<u32> = entries.iter().map(|entry| self.pick_entry(*entry, false)).collect();
        let turned: Vec<u32> = entries.iter().rev().copied().collect();
        let outcome = self.journal.put_back_plan(&entries);
        assert_eq!(outcome, self.journal.put_back_plan(&turned), "the order of listing does not matter");
        let history = self.journal.history();
        match outcome {
            Ok(plan) => {
                let taken = |entry: u32| entries.contains(&entry);
                self.goes_back(&history, &plan, taken);
                if self.carry_out(&plan) {
                    let of = asfound_core::entry::PutBackOf::Entries(entries.iter().copied().map(number).collect());
                    let entry = self.journal.file(Body::PutBack(of, plan.work(Vec::new())));
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

    fn put_back_all(&mut self) {
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
                let of = asfound_core::entry::PutBackOf::Entries(entries.iter().copied().map(number).collect());
                let entry = self.journal.file(Body::PutBack(of, plan.work(Vec::new())));
                self.worked(entry, &plan);
                let blocked: Vec<&Field> = plan.blocked.iter().map(|blocked| &blocked.field).collect();
                for (module, known) in &self.known {
                    for (name, steps) in &known.lives {
                        let first = steps[0].found.as_ref().unwrap_or(&steps[0].left);
                        if !blocked.contains(&&field(&format!("{module}.{name}"))) {
                            let now = known.says(name).or_else(|| known.last(name).cloned()).unwrap();
                            assert!(first.same(&now), "{module}.{name}: first {first:?}, now {now:?}");
                        }
                    }
                }
            }
            Err(PlanRefusal::Blocked(blockers)) => panic!("everything was to be put back: {blockers:?}"),
            Err(refusal) => self.may_refuse(&refusal),
        }
    }

    fn return_to(&mut self, entry: Index) {
        let to = u32::try_from(entry.index(self.last() as usize) + 1).unwrap();
        let history = self.journal.history();
        match self.journal.return_to_plan(to) {
            Ok(plan) => {
                self.goes_back(&history, &plan, |entry| entry > to);
                if !self.carry_out(&plan) {
                    return;
                }
                let of = asfound_core::entry::PutBackOf::ReturnTo(number(to));
                let entry = self.journal.file(Body::PutBack(of, plan.work(Vec::new())));
                let blocked: Vec<Field> = plan.blocked.iter().map(|blocked| blocked.field.clone()).collect();
                let then: Vec<(String, String, Held)> = self
                    .known
                    .iter()
                    .flat_map(|(module, known)| known.lives.iter().map(move |(name, steps)| (module, name, steps)))
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
                        let now = known.says(&name).or_else(|| known.last(&name).cloned()).unwrap();
                        assert!(then.same(&now), "{module}.{name}: after entry {to} {then:?}, now {now:?}");
                    }
                }
            }
            Err(PlanRefusal::Blocked(blockers)) => panic!("everything later is taken back: {blockers:?}"),
            Err(refusal) => self.may_refuse(&refusal),
        }
    }

    fn never_made(&mut self, entry: Index) {
        let entry = self.pick_entry(entry, true);
        let history = self.journal.history();
        // The oracle keeps no account of bits without a name that were never altered.
        if history.transitions_of(number(entry)).any(|(field, _)| matches!(field, Field::Undeclared { .. })) {
            return;
        }
        if let Err(refusal) = self.journal.never_made(entry) {
            return self.may_refuse_correction(&refusal, entry);
        }
        let Some(Body::Correction(Correction { effects, .. })) = self.journal.entries.last().map(|last| &last.body)
        else {
            panic!("a correction was filed")
        };
        for effect in &effects.records {
            let known = self.known.get_mut(effect.module.as_str()).unwrap();
            known.records.get_mut(&effect.record.to_string()).unwrap().bytes = effect.left.as_slice().to_vec();
        }
        for effect in &effects.stated {
            let known = self.known.get_mut(effect.module.as_str()).unwrap();
            known.stated.insert(effect.setting.to_string(), effect.left.clone().unwrap());
        }
        self.known.values_mut().for_each(|known| known.never_made(entry));
    }

    // What must always be so.

    fn may_refuse(&self, refusal: &PlanRefusal) {
        let rules = self.known.values().any(|known| known.sheet().is_some_and(|sheet| !sheet.rules.is_empty()));
        match refusal {
            PlanRefusal::Nothing | PlanRefusal::NothingIn(_) | PlanRefusal::NeverMade { .. } => {}
            PlanRefusal::Blocked(_) => {}
            PlanRefusal::BreaksRules(_) | PlanRefusal::Knot(_) if rules => {}
            refusal => panic!("{refusal:?}"),
        }
    }

    fn may_refuse_correction(&self, refusal: &PlanRefusal, entry: u32) {
        match refusal {
            PlanRefusal::NothingIn(_) | PlanRefusal::NeverMade { .. } => {}
            // A reading read it back: it gave the field, and it shows what the work left.
            PlanRefusal::Blocked(blockers) => {
                assert!(blockers.iter().all(|blocker| blocker.in_the_way[0] > number(entry)))
            }
            // The record was not read since the module was updated.
            PlanRefusal::CannotSet { .. } => {}
            refusal => panic!("{refusal:?}"),
        }
    }

    fn planned(&self, targets: &Targets, allowed: &Allowed) -> Option<Plan> {
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
    fn goes_back(&self, history: &History, plan: &Plan, taken: impl Fn(u32) -> bool) {
        let mut allowed = Allowed::default();
        let mut back: BTreeMap<String, Vec<Held>> = BTreeMap::new();
        for (module, known) in &self.known {
            for (name, steps) in &known.lives {
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
            for altered in &step.settings {
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

    /// Each step expects what is known, writes what was asked for and nothing else, and breaks no rule that held.
    fn is_sound(&self, plan: &Plan, allowed: &Allowed) {
        let mut known = self.known.clone();
        let mut written = BTreeSet::new();
        let mut restricted = false;
        for step in &plan.steps {
            assert!(!restricted || step.class == SafetyClass::Restricted, "restricted steps come last");
            restricted |= step.class == SafetyClass::Restricted;
            let before = broken_rules(&known);
            assert!(written.insert(format!("{} {:?}", step.module, place(step))), "one write a record");
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
            assert!(after.is_subset(&before), "{step:?} breaks {after:?}, before {before:?}");
        }
    }

    fn check(&self) {
        let state = self.journal.state();
        let history = self.journal.history();
        assert_eq!(&state, history.state());
        for (module, known) in &self.known {
            let of_state = state.module(&module.parse().unwrap()).cloned().unwrap_or_default();
            let records: BTreeMap<String, Vec<u8>> =
                of_state.records.iter().map(|(name, it)| (name.to_string(), it.bytes.as_slice().to_vec())).collect();
            let expected: BTreeMap<String, Vec<u8>> =
                known.records.iter().map(|(name, it)| (name.clone(), it.bytes.clone())).collect();
            assert_eq!(records, expected, "{module}");
            for name in of_state.records.keys() {
                let current = of_state.current_record(name).is_some();
                assert_eq!(
                    current,
                    known.records[&name.to_string()].current,
                    "{module}:{name} read since it was renewed"
                );
            }
            let stated: BTreeMap<String, String> =
                of_state.stated.iter().map(|(name, it)| (name.to_string(), it.value.clone())).collect();
            assert_eq!(stated, known.stated, "{module}");
            self.check_lives(&history, module, known);
            self.check_bits(&history, module, known);
        }
    }

    fn check_lives(&self, history: &History, module: &str, known: &KnownModule) {
        let fields = history.timelines().keys().filter_map(|field| match field {
            Field::Setting(path) if path.module.as_str() == module => Some(path.setting.to_string()),
            _ => None,
        });
        let expected: BTreeSet<String> =
            known.lives.iter().filter(|(_, steps)| !steps.is_empty()).map(|(name, _)| name.clone()).collect();
        assert_eq!(fields.collect::<BTreeSet<_>>(), expected, "{module}");
        for (name, steps) in known.lives.iter().filter(|(_, steps)| !steps.is_empty()) {
            let field = field(&format!("{module}.{name}"));
            let timeline = history.timeline(&field).unwrap().transitions();
            let found: Vec<Step> = timeline
                .iter()
                .map(|step| Step {
                    entry: step.entry.get(),
                    came: match step.origin {
                        Origin::FirstKnown => Came::First,
                        Origin::Work => Came::Work,
                        Origin::AnotherHand(kind) => Came::Hand(kind),
                        Origin::Contradicts(entry) => Came::Against(entry.get()),
                    },
                    found: step.found.as_ref().map(|content| held(content, known)),
                    left: held(&step.left, known),
                })
                .collect();
            assert_eq!(found.len(), steps.len(), "{module}.{name}\n{found:#?}\n{steps:#?}");
            for (found, expected) in found.iter().zip(steps) {
                assert_eq!((found.entry, found.came), (expected.entry, expected.came), "{module}.{name}\n{steps:#?}");
                assert!(
                    found.left.same(&expected.left) || found.left == expected.left,
                    "{module}.{name} {found:?} {expected:?}"
                );
                match (&found.found, &expected.found) {
                    (Some(a), Some(b)) => assert!(a.same(b) || a == b, "{module}.{name} {found:?} {expected:?}"),
                    (a, b) => assert_eq!(a, b, "{module}.{name}"),
                }
            }
            if let Some(now) = known.says(name) {
                let last = held(timeline.last().map(|step| &step.left).unwrap(), known);
                assert!(last.same(&now) || last == now, "{module}.{name}: {last:?}, the bytes say {now:?}");
            }
        }
    }

    fn check_bits(&self, history: &History, module: &str, known: &KnownModule) {
        let mut groups = BTreeSet::new();
        for (field, timeline) in history.timelines() {
            let Field::Undeclared { module: of, record, mask } = field else { continue };
            if of.as_str() != module {
                continue;
            }
            let bytes = &known.records[&record.to_string()];
            groups.insert((record.to_string(), (0..mask.len()).map(|at| mask.byte(at)).collect::<Vec<u8>>()));
            let steps = timeline.transitions();
            for pair in steps.windows(2) {
                let relaid = history.relaid(of, record).is_some_and(|relaid| relaid > pair[0].entry);
                assert!(relaid || pair[1].found.as_ref() == Some(&pair[0].left), "{field}: {pair:#?}");
                assert!(pair[0].entry <= pair[1].entry);
            }
            let last = steps.last().unwrap();
            if bytes.current && history.relaid(of, record).is_none_or(|relaid| relaid < last.entry) {
                assert_eq!(last.left, Content::bits(mask, &bytes.bytes), "{field}");
            }
        }
        assert_eq!(groups, known.groups(), "{module}");
    }
}

/// What a plan may alter.
#[derive(Debug, Default)]
struct Allowed {
    settings: BTreeSet<String>,
    bits: BTreeMap<(String, String), Vec<u8>>,
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
    volatile: &asfound_core::value::BitMask,
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

/// A content as the oracle writes it.
fn held(content: &Content, known: &KnownModule) -> Held {
    match content {
        Content::Coded { coded: asfound_core::layout::Coded::Number(number), value, record, definition } => {
            let sheet = known.sheets.iter().find(|sheet| sheet.id == definition.as_str()).unwrap();
            let coded = (sheet.id.clone(), sheet.record(&record.to_string()).unwrap(), u8::try_from(*number).unwrap());
            Held { value: value.as_ref().map(ToString::to_string), coded: Some(coded) }
        }
        Content::Stated { text, .. } => Held { value: Some(text.clone()), coded: None },
        other => panic!("no setting: {other:?}"),
    }
}

fn shown(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02X}")).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, max_shrink_iters: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_journal_knows_what_was_read_and_written_and_plans_do_what_was_asked(seed in any::<u64>(), events in events()) {
        let mut world = World::new(seed);
        for event in &events.0 {
            world.happens(event);
            world.check();
        }
    }
}
