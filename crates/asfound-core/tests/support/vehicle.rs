//! A vehicle whose modules hold bytes, and hands that alter them.

use super::{Dice, Rule, Sheet};

/// A module as it is, whatever anybody knows of it.
#[derive(Debug, Clone)]
pub struct Unit {
    pub name: String,
    /// The software versions that it can have; none where no definition is for it.
    pub sheets: Vec<Sheet>,
    pub software: usize,
    pub serial: u32,
    pub records: Vec<(String, Vec<u8>)>,
}

impl Unit {
    pub fn new(dice: &mut Dice, name: &str, sheets: Vec<Sheet>) -> Self {
        let mut unit = Self { name: name.to_owned(), sheets, software: 0, serial: 1, records: Vec::new() };
        unit.reset(dice);
        if unit.sheets.is_empty() {
            unit.records = (0..2).map(|at| (format!("0C0{at}"), vec![dice.byte(), dice.byte()])).collect();
        }
        unit
    }

    pub fn sheet(&self) -> Option<&Sheet> {
        self.sheets.get(self.software)
    }

    pub fn record(&self, name: &str) -> Option<usize> {
        self.records.iter().position(|(record, _)| record == name)
    }

    /// Fills every record at random, each setting with a value that it can have.
    fn reset(&mut self, dice: &mut Dice) {
        let Some(sheet) = self.sheet().cloned() else { return };
        self.records = sheet.records.iter().map(|record| (record.name.clone(), vec![0; record.length])).collect();
        for (_, bytes) in &mut self.records {
            bytes.iter_mut().for_each(|byte| *byte = dice.byte());
        }
        for setting in &sheet.settings {
            let values = setting.values();
            let code = setting.code_of(&values[dice.below(values.len())]).expect("one of its values");
            setting.put(code, &mut self.records[setting.record].1);
        }
        self.set_checksums();
    }

    pub fn set_checksums(&mut self) {
        let Some(sheet) = self.sheet().cloned() else { return };
        for (record, (_, bytes)) in sheet.records.iter().zip(&mut self.records) {
            record.set_checksum(bytes);
        }
    }

    /// Clocks and counters go on.
    pub fn tick(&mut self) {
        let Some(sheet) = self.sheet().cloned() else { return };
        for (record, (_, bytes)) in sheet.records.iter().zip(&mut self.records) {
            record.volatile.into_iter().for_each(|at| bytes[at] = bytes[at].wrapping_add(7));
        }
    }

    /// Gives the module other software. Some settings keep their value, if the new software knows it; the rest is at random.
    pub fn update(&mut self, dice: &mut Dice) {
        if self.sheets.is_empty() {
            return;
        }
        let (old, before) = (self.sheets[self.software].clone(), self.records.clone());
        self.software = (self.software + 1) % self.sheets.len();
        self.reset(dice);
        let sheet = self.sheets[self.software].clone();
        for setting in &sheet.settings {
            let value = old.setting(&setting.name).and_then(|it| it.value(&before[it.record].1));
            if let Some(code) = value.and_then(|value| setting.code_of(&value)).filter(|_| !dice.one_in(3)) {
                setting.put(code, &mut self.records[setting.record].1);
            }
        }
        for (record, (before, now)) in before.into_iter().zip(&mut self.records).enumerate() {
            if sheet.same_layout(record, &old) && !dice.one_in(3) {
                *now = before;
            }
        }
        self.set_checksums();
    }

    /// Puts another unit of the same kind and software in its place.
    pub fn swap(&mut self, dice: &mut Dice) {
        self.serial += 1;
        if self.sheets.is_empty() {
            self.records.iter_mut().for_each(|(_, bytes)| bytes[0] ^= dice.byte());
        }
        self.reset(dice);
    }

    pub fn put_value(&mut self, name: &str, value: &str) {
        let Some(sheet) = self.sheet().cloned() else { return };
        let Some(setting) = sheet.setting(name) else { return };
        let Some(code) = setting.code_of(value) else { return };
        setting.put(code, &mut self.records[setting.record].1);
        self.set_checksums();
    }
}

/// Three modules: `alpha`, which gets updates, `brakes`, whose role is restricted, and `gamma`, which nobody has defined.
pub fn roll_vehicle(seed: u64) -> Vec<Unit> {
    let dice = &mut Dice::new(seed);
    let names: Vec<String> = (0..3 + dice.below(4)).map(|number| format!("s{number}")).collect();
    let mut alpha = Sheet::roll(dice, "alpha-1", "alpha", "1", &names);
    let brakes = Sheet::roll(dice, "brakes-1", "brakes", "1", &names[..2]);
    for number in 0..dice.below(4) {
        let rule = roll_rule(dice, number, &alpha, &brakes);
        alpha.rules.extend(rule);
    }
    let next = alpha.updated(dice, "alpha-2", "2");
    let other = brakes.updated(dice, "brakes-2", "2");
    vec![
        Unit::new(dice, "alpha", vec![alpha, next]),
        Unit::new(dice, "brakes", vec![brakes, other]),
        Unit::new(dice, "gamma", Vec::new()),
    ]
}

fn roll_rule(dice: &mut Dice, number: usize, alpha: &Sheet, brakes: &Sheet) -> Option<Rule> {
    let mut condition = |sheet: &Sheet| {
        let setting = sheet.settings.get(dice.below(sheet.settings.len().max(1)))?;
        let values = setting.values();
        Some((format!("{}.{}", sheet.module, setting.name), values[dice.below(values.len())].clone()))
    };
    let (first, second) = (condition(alpha)?, condition(if number == 2 { brakes } else { alpha })?);
    let rule = Rule { name: format!("rule-{number}"), needs: dice.one_in(2), first, second };
    (rule.first.0 != rule.second.0).then_some(rule)
}
