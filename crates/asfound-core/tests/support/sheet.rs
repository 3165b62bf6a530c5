//! Definitions at random, with a reading of their own: what lies where is worked out here once more, by plain shifts.

use std::collections::BTreeMap;
use std::fmt::Write;

/// A small generator of numbers (xorshift, from memory), so that one seed gives one sheet.
#[derive(Debug, Clone)]
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// A number below `sides`.
    pub fn below(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 >> 33).expect("31 bits fit") % sides
    }

    pub fn byte(&mut self) -> u8 {
        u8::try_from(self.below(256)).expect("below 256")
    }

    pub fn one_in(&mut self, sides: usize) -> bool {
        self.below(sides) == 0
    }
}

/// What a setting's bits mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    Switch,
    Number,
    /// 0 is `low`, 1 and 2 are `middle` (written as 1), 3 is `high`; more bits give codes without a meaning.
    Steps,
}

/// A setting within one byte.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    pub name: String,
    pub record: usize,
    pub byte: usize,
    pub bit: u32,
    pub bits: u32,
    pub meaning: Meaning,
}

impl Setting {
    pub fn mask(&self) -> u8 {
        u8::try_from(((1_u16 << self.bits) - 1) << self.bit).expect("within one byte")
    }

    pub fn coded(&self, bytes: &[u8]) -> u8 {
        (bytes[self.byte] & self.mask()) >> self.bit
    }

    pub fn put(&self, coded: u8, bytes: &mut [u8]) {
        bytes[self.byte] = bytes[self.byte] & !self.mask() | coded << self.bit & self.mask();
    }

    /// The value that coded bits mean, as people write it.
    pub fn shown(&self, coded: u8) -> Option<String> {
        match (self.meaning, coded) {
            (Meaning::Switch, 0) => Some("off".to_owned()),
            (Meaning::Switch, 1) => Some("on".to_owned()),
            (Meaning::Number, number) => Some(number.to_string()),
            (Meaning::Steps, 0) => Some("low".to_owned()),
            (Meaning::Steps, 1 | 2) => Some("middle".to_owned()),
            (Meaning::Steps, 3) => Some("high".to_owned()),
            _ => None,
        }
    }

    pub fn value(&self, bytes: &[u8]) -> Option<String> {
        self.shown(self.coded(bytes))
    }

    /// The bits that are written for a value.
    pub fn code_of(&self, value: &str) -> Option<u8> {
        (0..=u8::try_from((1_u16 << self.bits) - 1).expect("a byte"))
            .find(|code| self.shown(*code).as_deref() == Some(value))
    }

    /// Every value that it can have.
    pub fn values(&self) -> Vec<String> {
        let mut values: Vec<String> =
            (0..1_u16 << self.bits).filter_map(|code| self.shown(u8::try_from(code).ok()?)).collect();
        values.dedup();
        values
    }
}

/// A record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record {
    pub name: String,
    pub length: usize,
    pub volatile: Option<usize>,
    /// The byte that holds the sum of all others but the volatile one.
    pub checksum: Option<usize>,
}

impl Record {
    pub fn sum(&self, bytes: &[u8]) -> u8 {
        let counted = |at: &usize| Some(*at) != self.checksum && Some(*at) != self.volatile;
        (0..bytes.len()).filter(counted).fold(0, |sum: u8, at| sum.wrapping_add(bytes[at]))
    }

    pub fn set_checksum(&self, bytes: &mut [u8]) {
        if let Some(at) = self.checksum {
            bytes[at] = self.sum(bytes);
        }
    }

    pub fn checksum_holds(&self, bytes: &[u8]) -> bool {
        self.checksum.is_none_or(|at| bytes[at] == self.sum(bytes))
    }
}

/// A rule between two settings, each with its full name and a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rule {
    pub name: String,
    /// Whether the second must hold when the first does; otherwise at most one of them may.
    pub needs: bool,
    pub first: (String, String),
    pub second: (String, String),
}

impl Rule {
    /// Whether values break it for certain; `None` is a value that nobody knows.
    pub fn is_broken(&self, value: impl Fn(&str) -> Option<String>) -> bool {
        let holds = |(path, wanted): &(String, String)| value(path).map(|value| value == *wanted);
        match (holds(&self.first), holds(&self.second)) {
            (Some(true), Some(second)) => second != self.needs,
            _ => false,
        }
    }

    fn text(&self, module: &str) -> String {
        let condition = |(path, value): &(String, String)| {
            let name = path.strip_prefix(&format!("{module}."));
            let name = name.map_or_else(|| format!("\"{path}\""), str::to_owned);
            let literal =
                if value.bytes().all(|byte| byte.is_ascii_digit()) { value.clone() } else { format!("\"{value}\"") };
            format!("{{ {name} = {literal} }}")
        };
        let (first, second) = (condition(&self.first), condition(&self.second));
        let body = if self.needs {
            format!("when = {first}\nneeds = {second}")
        } else {
            format!("exclusive = [ {first}, {second} ]")
        };
        format!("\n[[rules]]\nname = \"{}\"\n{body}\nbecause = \"Rolled\"\n", self.name)
    }
}

/// A definition of one module at one software version.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    pub id: String,
    pub module: String,
    pub software: String,
    pub records: Vec<Record>,
    pub settings: Vec<Setting>,
    pub rules: Vec<Rule>,
}

impl Sheet {
    /// A sheet at random, with settings of these names.
    pub fn roll(dice: &mut Dice, id: &str, module: &str, software: &str, names: &[String]) -> Self {
        let records = (0..=dice.below(3)).map(|number| roll_record(dice, number)).collect();
        let mut sheet = Self {
            id: id.to_owned(),
            module: module.to_owned(),
            software: software.to_owned(),
            records,
            settings: Vec::new(),
            rules: Vec::new(),
        };
        names.iter().for_each(|name| sheet.place(dice, name));
        sheet
    }

    /// The next software: some records as they were, the others laid out anew, settings moved, lost and new.
    pub fn updated(&self, dice: &mut Dice, id: &str, software: &str) -> Self {
        let kept: Vec<bool> = self.records.iter().map(|_| dice.one_in(3)).collect();
        let record = |(number, record): (usize, &Record)| {
            if kept[number] { record.clone() } else { roll_record(dice, number) }
        };
        let records = self.records.iter().enumerate().map(record).collect();
        let settings = self.settings.iter().filter(|setting| kept[setting.record]).cloned().collect();
        let (id, module, software) = (id.to_owned(), self.module.clone(), software.to_owned());
        let mut next = Self { id, module, software, records, settings, rules: self.rules.clone() };
        for setting in self.settings.iter().filter(|setting| !kept[setting.record]) {
            if !dice.one_in(6) {
                next.place_in(dice, &setting.name, |record| !kept[record], Some(setting.meaning));
            }
        }
        next.place_in(dice, "anew", |record| !kept[record], None);
        let settings = &next.settings;
        let known = |(path, value): &(String, String)| {
            let own = path.strip_prefix(&format!("{}.", next.module));
            own.is_none_or(|name| settings.iter().any(|it| it.name == name && it.values().contains(value)))
        };
        next.rules.retain(|rule| known(&rule.first) && known(&rule.second));
        next
    }

    fn place(&mut self, dice: &mut Dice, name: &str) {
        self.place_in(dice, name, |_| true, None);
    }

    /// Puts a setting where there is room for it; a place that is taken is left and the setting with it.
    fn place_in(&mut self, dice: &mut Dice, name: &str, may: impl Fn(usize) -> bool, meaning: Option<Meaning>) {
        for _ in 0..20 {
            let record = dice.below(self.records.len());
            let byte = dice.below(self.records[record].length);
            let meaning = meaning.unwrap_or([Meaning::Switch, Meaning::Number, Meaning::Steps][dice.below(3)]);
            let bits = match meaning {
                Meaning::Switch => 1,
                Meaning::Number => 2 + u32::try_from(dice.below(3)).expect("small"),
                Meaning::Steps => 2 + u32::try_from(dice.below(2)).expect("small"),
            };
            let bit = u32::try_from(dice.below(9 - bits as usize)).expect("small");
            let setting = Setting { name: name.to_owned(), record, byte, bit, bits, meaning };
            let taken = self.named(record)[byte];
            let special = [self.records[record].volatile, self.records[record].checksum].contains(&Some(byte));
            if may(record) && !special && taken & setting.mask() == 0 {
                self.settings.push(setting);
                return;
            }
        }
    }

    fn named(&self, record: usize) -> Vec<u8> {
        let mut mask = vec![0; self.records[record].length];
        self.settings.iter().filter(|setting| setting.record == record).for_each(|it| mask[it.byte] |= it.mask());
        mask
    }

    /// The bits of a record that nobody has named.
    pub fn undeclared(&self, record: usize) -> Vec<u8> {
        let mut mask: Vec<u8> = self.named(record).iter().map(|named| !named).collect();
        let record = &self.records[record];
        record.volatile.into_iter().chain(record.checksum).for_each(|at| mask[at] = 0);
        mask
    }

    pub fn setting(&self, name: &str) -> Option<&Setting> {
        self.settings.iter().find(|setting| setting.name == name)
    }

    pub fn record(&self, name: &str) -> Option<usize> {
        self.records.iter().position(|record| record.name == name)
    }

    /// Whether a record is laid out as in another sheet.
    pub fn same_layout(&self, record: usize, other: &Self) -> bool {
        let settings = |sheet: &Self| -> BTreeMap<String, Setting> {
            let inside = sheet.settings.iter().filter(|setting| setting.record == record);
            inside.map(|setting| (setting.name.clone(), setting.clone())).collect()
        };
        self.records[record] == other.records[record] && settings(self) == settings(other)
    }

    /// The definition file.
    pub fn text(&self) -> String {
        let (id, module, software) = (&self.id, &self.module, &self.software);
        let mut text = format!(
            "format = \"asfound-definition/1\"\nid = \"{id}\"\ntitle = \"Rolled\"\n\n[applies_to]\nmodule = \"{module}\"\n\
             software = {{ from = \"{software}\", up_to = \"{software}\" }}\n"
        );
        for record in &self.records {
            write!(text, "\n[records.{}]\nlabel = \"Rolled\"\nlength = {}\n", record.name, record.length)
                .expect("a string");
            if let Some(at) = record.volatile {
                writeln!(text, "volatile = [\"{at}\"]").expect("a string");
            }
            if let Some(at) = record.checksum {
                let counted = (0..record.length).filter(|byte| *byte != at && Some(*byte) != record.volatile);
                let over: Vec<String> = counted.map(|byte| format!("\"{byte}\"")).collect();
                writeln!(text, "checksum = {{ at = {at}, over = [{}], kind = \"sum\" }}", over.join(", "))
                    .expect("a string");
            }
        }
        for setting in &self.settings {
            let kind = match setting.meaning {
                Meaning::Switch => "type = \"switch\"",
                Meaning::Number => "type = \"integer\"",
                Meaning::Steps => {
                    "type = \"choice\"\nchoices = { low = 0, middle = { from = 1, to = 2, write = 1 }, high = 3 }"
                }
            };
            write!(
                text,
                "\n[settings.{}]\nlabel = \"Rolled\"\nrecord = \"{}\"\nbyte = {}\nbit = {}\nbits = {}\n{kind}\ntags = [\"comfort\"]\n",
                setting.name, self.records[setting.record].name, setting.byte, setting.bit, setting.bits
            )
            .expect("a string");
        }
        self.rules.iter().for_each(|rule| text.push_str(&rule.text(&self.module)));
        text
    }
}

/// A record of 2 to 5 bytes that has, as it comes, a byte that changes by itself and a checksum.
fn roll_record(dice: &mut Dice, number: usize) -> Record {
    let length = 2 + dice.below(4);
    let volatile = (length > 2 && dice.one_in(2)).then(|| dice.below(length));
    let checksum = (length > 2 && dice.one_in(2)).then(|| dice.below(length)).filter(|at| Some(*at) != volatile);
    Record { name: format!("0A0{number}"), length, volatile, checksum }
}
