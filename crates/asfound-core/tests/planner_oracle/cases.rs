//! Random vehicles with rules, and wishes.

use std::fmt::Write as _;

/// A generator of numbers (splitmix64, Steele, Lea, Flood 2014; from memory): the same cases in every run.
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ z >> 31
    }

    /// A number below `sides`.
    pub fn roll(&mut self, sides: usize) -> usize {
        usize::try_from(self.next() % sides as u64).expect("below a usize")
    }

    pub fn one_in(&mut self, sides: usize) -> bool {
        self.roll(sides) == 0
    }

    pub fn pick<'l, T>(&mut self, list: &'l [T]) -> &'l T {
        &list[self.roll(list.len())]
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Switch,
    /// Three names.
    Choice,
    /// 0 to the number; with more than eight values no others are tried on the way.
    Integer(u8),
    /// 0 to 5 times ten, in steps of five.
    Quantity,
}

impl Kind {
    pub fn values(self) -> u8 {
        match self {
            Self::Switch => 2,
            Self::Choice => 3,
            Self::Integer(most) => most + 1,
            Self::Quantity => 11,
        }
    }

    /// A coded value as it is written.
    pub fn text(self, code: u8) -> String {
        match self {
            Self::Switch => ["off", "on"][usize::from(code)].to_owned(),
            Self::Choice => ["low", "middle", "high"][usize::from(code)].to_owned(),
            Self::Integer(_) => code.to_string(),
            Self::Quantity => (u32::from(code) * 5).to_string(),
        }
    }
}

/// One setting, a whole byte of its record.
#[derive(Debug, Clone)]
pub struct Setting {
    pub module: usize,
    pub record: usize,
    pub byte: usize,
    pub kind: Kind,
}

/// How a setting's code is compared.
#[derive(Debug, Clone, Copy)]
pub enum Test {
    Is(u8),
    IsNot(u8),
    AtLeast(u8),
    Below(u8),
}

pub type Condition = (usize, Test);

#[derive(Debug, Clone)]
pub enum Rule {
    Needs(Vec<Condition>, Vec<Condition>),
    Exclusive(Vec<Vec<Condition>>),
}

/// Codes of all settings; nothing where nobody knows.
pub type Codes = Vec<Option<u8>>;

/// The name of a setting within its module.
pub fn name(setting: usize) -> String {
    format!("s{setting}")
}

pub const MODULES: [&str; 3] = ["body", "cluster", "seat"];

#[derive(Debug, Clone)]
pub struct Vehicle {
    pub settings: Vec<Setting>,
    /// For each record its module, whether it is restricted, and whether it is known by values alone.
    pub records: Vec<(usize, bool, bool)>,
    /// Each in the definition of a module.
    pub rules: Vec<(usize, Rule)>,
}

impl Vehicle {
    /// Some modules with two to seven records.
    fn without_rules(dice: &mut Dice) -> Self {
        let mut vehicle = Self { settings: Vec::new(), records: Vec::new(), rules: Vec::new() };
        for record in 0..2 + dice.roll(6) {
            let module = dice.roll(MODULES.len());
            vehicle.records.push((module, dice.one_in(7), dice.one_in(8)));
            for byte in 0..=usize::from(dice.one_in(3)) {
                let kind = match dice.roll(8) {
                    0..=3 => Kind::Switch,
                    4 => Kind::Choice,
                    5 | 6 => Kind::Integer(*dice.pick(&[2, 3, 7, 9])),
                    _ => Kind::Quantity,
                };
                vehicle.settings.push(Setting { module, record, byte, kind });
            }
        }
        vehicle
    }

    /// A vehicle with rules that tell two states of it apart, and these states; with `circles`, also rules that ask for
    /// settings to be altered in a circle, as knots do.
    pub fn random(dice: &mut Dice, circles: bool) -> (Self, Codes, Codes) {
        let mut vehicle = Self::without_rules(dice);
        let code = |dice: &mut Dice, setting: &Setting| {
            u8::try_from(dice.roll(usize::from(setting.kind.values()))).expect("few values")
        };
        let mut found: Codes = vehicle.settings.iter().map(|setting| Some(code(dice, setting))).collect();
        let mut wanted = found.clone();
        for record in 0..vehicle.records.len() {
            let fate = dice.roll(12);
            for at in 0..vehicle.settings.len() {
                if vehicle.settings[at].record == record {
                    match fate {
                        0 => (found[at], wanted[at]) = (None, None),
                        1 => {}
                        _ => wanted[at] = Some(code(dice, &vehicle.settings[at])),
                    }
                }
            }
        }
        for _ in 0..=dice.roll(8) {
            let module = vehicle.settings[dice.roll(vehicle.settings.len())].module;
            let rule = vehicle.rule(dice, &found, &wanted);
            if !dice.one_in(40) && super::oracle::newly_broken(&rule, &found, &wanted) {
                continue;
            }
            vehicle.rules.push((module, rule));
        }
        if circles {
            vehicle.circle(dice, &found, &wanted);
        }
        (vehicle, found, wanted)
    }

    /// Rules by which each of some settings has to be altered before the next, and the last before the first.
    fn circle(&mut self, dice: &mut Dice, found: &Codes, wanted: &Codes) {
        let altered: Vec<usize> = (0..found.len()).filter(|at| found[*at] != wanted[*at]).collect();
        if altered.len() < 2 {
            return;
        }
        let arrows = 2 + dice.roll(2);
        let mut first = dice.pick(&altered).to_owned();
        let start = if dice.one_in(2) { first } else { *dice.pick(&altered) };
        for arrow in 0..arrows {
            let next = if arrow + 1 == arrows { start } else { *dice.pick(&altered) };
            let (Some(as_found), Some(as_wanted)) = (found[first], wanted[next]) else { continue };
            if next != first {
                let (early, late) = ((first, Test::Is(as_found)), (next, Test::Is(as_wanted)));
                let rule = match dice.roll(3) {
                    0 => Rule::Needs(vec![late], vec![(first, Test::IsNot(as_found))]),
                    1 => Rule::Needs(vec![early], vec![(next, Test::IsNot(as_wanted))]),
                    _ => Rule::Exclusive(vec![vec![early], vec![late]]),
                };
                self.rules.push((self.settings[first].module, rule));
            }
            // Where the next arrow starts from another setting of the same record, two writes of it can untie the circle.
            let together = |at: &&usize| self.settings[**at].record == self.settings[next].record;
            let together: Vec<usize> = altered.iter().filter(together).copied().collect();
            first = *dice.pick(&together);
        }
    }

    fn rule(&self, dice: &mut Dice, found: &Codes, wanted: &Codes) -> Rule {
        let (first, second) = (1 + usize::from(dice.one_in(4)), 1 + usize::from(dice.one_in(3)));
        if dice.one_in(3) {
            let groups = 2 + usize::from(dice.one_in(3));
            return Rule::Exclusive((0..groups).map(|_| self.conditions(dice, first, found, wanted)).collect());
        }
        Rule::Needs(self.conditions(dice, first, found, wanted), self.conditions(dice, second, found, wanted))
    }

    /// Conditions on different settings, mostly such as hold in one of the two states.
    fn conditions(&self, dice: &mut Dice, count: usize, found: &Codes, wanted: &Codes) -> Vec<Condition> {
        let mut conditions: Vec<Condition> = Vec::new();
        for _ in 0..count {
            let setting = dice.roll(self.settings.len());
            if conditions.iter().any(|(other, _)| *other == setting) {
                continue;
            }
            let kind = self.settings[setting].kind;
            let any = u8::try_from(dice.roll(usize::from(kind.values()))).expect("few values");
            let code = if dice.one_in(2) { found[setting] } else { wanted[setting] }.unwrap_or(any);
            let code = if dice.one_in(6) { any } else { code };
            let number = matches!(kind, Kind::Integer(_) | Kind::Quantity);
            let test = match dice.roll(6) {
                0 => Test::IsNot(code),
                1 | 2 if number => Test::AtLeast(code),
                3 if number => Test::Below(code),
                _ => Test::Is(code),
            };
            conditions.push((setting, test));
        }
        conditions
    }

    pub fn path(&self, setting: usize) -> String {
        format!("{}.s{setting}", MODULES[self.settings[setting].module])
    }

    fn condition(&self, module: usize, (setting, test): Condition) -> String {
        let own = self.settings[setting].module == module;
        let called = if own { name(setting) } else { format!("\"{}\"", self.path(setting)) };
        let kind = self.settings[setting].kind;
        let value = |code: u8| match kind {
            Kind::Switch | Kind::Choice => format!("\"{}\"", kind.text(code)),
            _ => kind.text(code),
        };
        match test {
            Test::Is(code) => format!("{called} = {}", value(code)),
            Test::IsNot(code) => format!("{called} = {{ is_not = {} }}", value(code)),
            Test::AtLeast(code) => format!("{called} = {{ at_least = {} }}", value(code)),
            Test::Below(code) => format!("{called} = {{ below = {} }}", value(code)),
        }
    }

    /// The definition of one module; nothing where it has no record.
    pub fn definition(&self, module: usize) -> Option<String> {
        let name = MODULES[module];
        let mut text = format!(
            "format = \"asfound-definition/1\"\nid = \"{name}\"\ntitle = \"{name}\"\n[applies_to]\nmodule = \"{name}\"\n"
        );
        let mut any = false;
        for (record, (of, ..)) in self.records.iter().enumerate().filter(|(_, (of, ..))| *of == module) {
            let length = self.settings.iter().filter(|setting| setting.record == record).count();
            any |= *of == module;
            write!(text, "[records.00{record:02X}]\nlabel = \"r\"\nlength = {length}\n")
                .expect("a text takes everything");
        }
        for (at, setting) in self.settings.iter().enumerate().filter(|(_, setting)| setting.module == module) {
            let kind = match setting.kind {
                Kind::Switch => "type = \"switch\"".to_owned(),
                Kind::Choice => "type = \"choice\"\nchoices = { low = 0, middle = 1, high = 2 }".to_owned(),
                Kind::Integer(most) => format!("type = \"integer\"\nrange = {{ min = 0, max = {most} }}"),
                Kind::Quantity => "type = \"quantity\"\nunit = \"km/h\"\nscale = { numerator = [0, 5] }\nrange = { min = 0, max = 50 }".to_owned(),
            };
            let tag = if self.records[setting.record].1 { "steering" } else { "comfort" };
            let (byte, record) = (setting.byte, setting.record);
            write!(
                text,
                "[settings.s{at}]\nlabel = \"s\"\nrecord = \"00{record:02X}\"\nbyte = {byte}\n{kind}\ntags = [\"{tag}\"]\n"
            )
            .expect("a text takes everything");
        }
        for (at, (_, rule)) in self.rules.iter().enumerate().filter(|(_, (of, _))| *of == module) {
            let group = |conditions: &[Condition]| {
                let conditions: Vec<String> = conditions.iter().map(|it| self.condition(module, *it)).collect();
                format!("{{ {} }}", conditions.join(", "))
            };
            let what = match rule {
                Rule::Needs(when, needs) => format!("when = {}\nneeds = {}", group(when), group(needs)),
                Rule::Exclusive(groups) => {
                    format!("exclusive = [{}]", groups.iter().map(|it| group(it)).collect::<Vec<_>>().join(", "))
                }
            };
            write!(text, "[[rules]]\nname = \"r{at}\"\n{what}\nbecause = \"invented\"\n")
                .expect("a text takes everything");
        }
        any.then_some(text)
    }
}
