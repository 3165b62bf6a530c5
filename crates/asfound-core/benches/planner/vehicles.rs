//! Vehicles of a given size, with journals of a given length.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{
    Author, Body, Effects, Entry, ModuleCoverage, PutBackOf, ReadingBody, ReadingRole, Reason, RecordEffect, Vehicle,
    WorkBody,
};
use asfound_core::moment::Precision;
use asfound_core::names::{EntryNumber, ModuleName, RecordName, SettingPath};
use asfound_core::plan::Targets;
use asfound_core::value::Value;
use time::{Duration, OffsetDateTime};

/// Settings in one record.
const IN_RECORD: usize = 3;

/// From this value on a setting counts as raised; rules look at that.
const RAISED: u8 = 100;

/// How large a vehicle is.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    pub settings: usize,
    pub modules: usize,
    pub rules: usize,
    /// How many pairs of records have to be untied by writing one of them twice.
    pub knots: usize,
}

/// A vehicle with its definitions.
pub struct Made {
    size: Size,
    pub definitions: DefinitionSet,
    start: OffsetDateTime,
    state: u64,
}

impl Made {
    pub fn new(size: Size) -> Self {
        let mut made = Self { size, definitions: DefinitionSet::new(), start: OffsetDateTime::UNIX_EPOCH, state: 1 };
        let rules = made.rules();
        for module in 0..size.modules {
            let text = made.definition(module, &rules);
            let parsed = Definition::parse(&text).unwrap_or_else(|problems| panic!("{problems:?}\n{text}"));
            made.definitions.add(parsed.definition).expect("every module has its own definition");
        }
        made
    }

    /// A number below `sides` (splitmix64, as in the tests).
    fn roll(&mut self, sides: usize) -> usize {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        usize::try_from((z ^ z >> 31) % sides as u64).expect("below a usize")
    }

    fn records(&self) -> usize {
        self.size.settings.div_ceil(IN_RECORD)
    }

    fn module(&self, record: usize) -> ModuleName {
        format!("unit_{:03}", record % self.size.modules).parse().expect("a module")
    }

    fn record(record: usize) -> RecordName {
        RecordName::Identifier(u16::try_from(record).expect("few records"))
    }

    fn in_record(&self, record: usize) -> impl Iterator<Item = usize> + use<> {
        record * IN_RECORD..self.size.settings.min((record + 1) * IN_RECORD)
    }

    fn path(&self, setting: usize) -> SettingPath {
        let module = self.module(setting / IN_RECORD);
        SettingPath { module, setting: format!("value_{setting}").parse().expect("a setting") }
    }

    /// Rules by which one setting is raised only after others, through all modules and never in a circle; and for each
    /// knot two rules by which a setting of one record comes before and another one of it after that of a second record.
    fn rules(&mut self) -> Vec<(usize, String)> {
        let condition = |path: SettingPath| format!("\"{path}\" = {{ at_least = {RAISED} }}");
        let mut rules = Vec::new();
        let records = self.records();
        let knotted: Vec<[usize; 2]> = (0..self.size.knots).map(|knot| [2 * knot, 2 * knot + 1]).collect();
        let free: Vec<usize> = (2 * self.size.knots..records).collect();
        for [first, second] in knotted {
            let [early, late] = [first * IN_RECORD, first * IN_RECORD + 1].map(|it| self.path(it));
            let between = self.path(second * IN_RECORD);
            let rule = |when: SettingPath, needs: SettingPath| {
                format!("when = {{ {} }}\nneeds = {{ {} }}", condition(when), condition(needs))
            };
            rules.push((first, rule(between.clone(), early)));
            rules.push((first, rule(late, between)));
        }
        while rules.len() < self.size.rules && free.len() > 1 {
            // The record with the larger number is raised first, so that the order by name is not the one asked for.
            let at = self.roll(free.len() - 1);
            let other = at + 1 + self.roll(free.len() - at - 1);
            let setting = |made: &mut Self, at: usize| {
                let settings: Vec<usize> = made.in_record(free[at]).collect();
                let setting = settings[made.roll(settings.len())];
                made.path(setting)
            };
            let (late, early) = (setting(self, at), setting(self, other));
            let third = other + self.roll(free.len() - other);
            let third = setting(self, third);
            let rule = match self.roll(3) {
                0 => format!("exclusive = [{{ {} }}, {{ \"{early}\" = {{ below = {RAISED} }} }}]", condition(late)),
                1 if third != early => {
                    format!(
                        "when = {{ {} }}\nneeds = {{ {}, {} }}",
                        condition(late),
                        condition(early),
                        condition(third)
                    )
                }
                _ => format!("when = {{ {} }}\nneeds = {{ {} }}", condition(late), condition(early)),
            };
            rules.push((free[at], rule));
        }
        rules
    }

    fn definition(&self, module: usize, rules: &[(usize, String)]) -> String {
        let name = format!("unit_{module:03}");
        let id = name.replace('_', "-");
        let mut text = format!(
            "format = \"asfound-definition/1\"\nid = \"{id}\"\ntitle = \"{id}\"\n[applies_to]\nmodule = \"{name}\"\n"
        );
        let write = "a text takes everything";
        for record in (0..self.records()).filter(|record| record % self.size.modules == module) {
            write!(text, "[records.{record:04X}]\nlabel = \"Record\"\nlength = {}\n", IN_RECORD + 1).expect(write);
            for setting in self.in_record(record) {
                let byte = setting % IN_RECORD;
                write!(
                    text,
                    "[settings.value_{setting}]\nlabel = \"Value\"\nrecord = \"{record:04X}\"\nbyte = {byte}\n\
                     type = \"integer\"\nrange = {{ min = 0, max = 200 }}\ntags = [\"comfort\"]\n"
                )
                .expect(write);
            }
        }
        for (at, (_, rule)) in rules.iter().enumerate().filter(|(_, (record, _))| record % self.size.modules == module)
        {
            let rule = rule.replace(&format!("\"{name}."), "\"");
            write!(text, "[[rules]]\nname = \"rule-{at}\"\n{rule}\nbecause = \"Invented\"\n").expect(write);
        }
        text
    }

    fn entry(&self, entries: &[Entry], body: Body) -> Entry {
        let number = EntryNumber::new(u32::try_from(entries.len() + 1).expect("a journal")).expect("not 0");
        let at = self.start + Duration::hours(i64::from(number.get()));
        let author = Author::new("Bench", None).expect("a name");
        let why = Reason::try_from("a measurement".to_owned()).expect("a reason");
        Entry { number, recorded: at, happened: at, precision: Precision::Second, author, why, body }
    }

    /// A journal: a reading of everything, then mostly changes of one setting each, among them readings of one module, and
    /// put-backs of the last change. No setting is raised.
    pub fn journal(&mut self, length: usize) -> Vec<Entry> {
        let vehicle = Vehicle { tag: "wren".parse().expect("a tag"), vin: None, about: None, enrolled: self.start };
        let mut entries = vec![self.entry(&[], Body::Enrolled(vehicle))];
        let mut now: Vec<Vec<u8>> = vec![vec![1; IN_RECORD + 1]; self.records()];
        entries.push(self.entry(&entries, self.reading(0..self.records(), &now, true)));
        let mut last: Option<(EntryNumber, usize, Vec<u8>)> = None;
        while entries.len() < length {
            let chance = self.roll(20);
            let body = match &last {
                Some((entry, record, before)) if chance == 0 => {
                    let left = before.clone();
                    let work = self.work(*record, &now[*record], &left);
                    let of = PutBackOf::Entries(vec![*entry]);
                    now[*record] = left;
                    last = None;
                    Body::PutBack(of, work)
                }
                _ if chance == 1 => {
                    let module = self.roll(self.size.modules);
                    let records = (0..self.records()).filter(|record| record % self.size.modules == module);
                    self.reading(records, &now, false)
                }
                _ => {
                    let setting = self.roll(self.size.settings);
                    let (record, byte) = (setting / IN_RECORD, setting % IN_RECORD);
                    let before = now[record].clone();
                    let mut left = before.clone();
                    left[byte] = u8::try_from((usize::from(left[byte]) + 1 + self.roll(98)) % 99).expect("below 100");
                    let work = self.work(record, &before, &left);
                    now[record] = left;
                    let number = EntryNumber::new(u32::try_from(entries.len() + 1).expect("a journal")).expect("not 0");
                    last = Some((number, record, before));
                    Body::Change(work)
                }
            };
            entries.push(self.entry(&entries, body));
        }
        entries
    }

    fn reading(&self, records: impl Iterator<Item = usize>, now: &[Vec<u8>], first: bool) -> Body {
        let mut covered: BTreeMap<ModuleName, ModuleCoverage> = BTreeMap::new();
        let mut effects = Effects::default();
        for record in records {
            let module = self.module(record);
            covered.entry(module.clone()).or_default().records.insert(Self::record(record));
            if first {
                let (record, left) = (Self::record(record), now[record].clone().into());
                effects.records.push(RecordEffect { module, record, found: None, left });
            }
        }
        Body::Reading(ReadingBody {
            role: ReadingRole::Check,
            partial: !first,
            by: None,
            tool: None,
            odometer_km: None,
            supply_voltage: None,
            situation: asfound_core::situation::Situation::default(),
            covered,
            effects,
            late: std::collections::BTreeMap::new(),
        })
    }

    fn work(&self, record: usize, found: &[u8], left: &[u8]) -> WorkBody {
        let altered = self.in_record(record).filter(|it| found[it % IN_RECORD] != left[it % IN_RECORD]);
        let effect = RecordEffect {
            module: self.module(record),
            record: Self::record(record),
            found: Some(found.to_vec().into()),
            left: left.to_vec().into(),
        };
        WorkBody {
            settings: altered.map(|setting| self.path(setting)).collect(),
            effects: Effects { records: vec![effect], ..Effects::default() },
            ..WorkBody::default()
        }
    }

    /// The wish to raise every setting.
    pub fn raise(&self) -> Targets<'static> {
        let value = |setting: usize| Value::Integer(i128::from(RAISED) + i128::from(setting.is_multiple_of(7)));
        Targets::setting_values((0..self.size.settings).map(|setting| (self.path(setting), value(setting))))
    }

    /// The journal with one more entry: the work of a plan.
    pub fn done(&self, mut entries: Vec<Entry>, work: WorkBody) -> Vec<Entry> {
        let entry = self.entry(&entries, Body::Change(work));
        entries.push(entry);
        entries
    }
}
