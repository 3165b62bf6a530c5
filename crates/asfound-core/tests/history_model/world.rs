//! The vehicle, its journal, and what the journal must know.

use std::collections::BTreeMap;

use asfound_core::entry::Body;
use asfound_core::names::EntryNumber;
use asfound_core::plan::{Plan, Targets, Write};
use proptest::sample::Index;

use crate::events::Event;
use crate::plans::Allowed;
use crate::support::*;

pub struct World {
    pub dice: Dice,
    units: Vec<Unit>,
    pub known: BTreeMap<String, KnownModule>,
    pub journal: Journal,
}

impl World {
    pub fn new(seed: u64) -> Self {
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

    pub fn happens(&mut self, event: &Event) {
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
            self.known.get_mut(&name).expect("a module").push(entry, true, &tells);
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
            let for_a_time = |name| step.intermediate.as_ref().is_some_and(|it| it.for_a_time.contains(name));
            for altered in step.settings.iter().filter(|altered| !for_a_time(&altered.setting)) {
                let wanted = wanted.iter().find(|(path, _)| *path == format!("{}.{}", step.module, altered.setting));
                assert_eq!(altered.left.to_string(), wanted.expect("wanted").1);
            }
        }
        if self.carry_out(&plan) {
            let entry = self.journal.file(Body::Change(carried_out(&plan)));
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
            let entry = self.journal.file(Body::Change(carried_out(&plan)));
            self.worked(entry, &plan);
        }
    }

    fn claim(&mut self, at: Index, value: Index) {
        let Some((path, value)) = self.pick(at, value) else { return };
        let targets = self.journal.targets(&[(&path, &value)]);
        let Some(plan) = self.planned(&targets, &Allowed { settings: [path].into(), bits: BTreeMap::new() }) else {
            return;
        };
        let entry = self.journal.file(Body::Change(carried_out(&plan)));
        self.worked(entry, &plan);
    }

    /// Does what a plan says, each step as compare and set; nothing where the vehicle is not what the journal knows.
    pub fn carry_out(&mut self, plan: &Plan) -> bool {
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
    pub fn worked(&mut self, entry: EntryNumber, plan: &Plan) {
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
            self.known.get_mut(&name).expect("a module").push(entry.get(), false, &tells);
        }
    }
}
