//! The order of steps, held against a search through every order there is.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod support;

use std::collections::BTreeMap;
use std::fmt::Write as _;

use asfound_core::plan::{Plan, PlanRefusal, Step};
use asfound_core::safety::SafetyClass;
use support::*;

/// Settings of one bit, one or two to a record: record 0 holds settings 0 and 1, and so on.
#[derive(Debug, Clone)]
struct Case {
    /// For each record, which module holds it, and whether it has two settings.
    records: Vec<(Where, bool)>,
    rules: Vec<Rule>,
    before: u16,
    after: u16,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Where {
    Body,
    Cluster,
    /// In the body module, with a setting that is restricted.
    Restricted,
}

/// A setting by number, and the value that it is asked to have.
type Asked = (usize, bool);

#[derive(Debug, Clone)]
enum Rule {
    /// When all of these hold, all of those must.
    Needs(Vec<Asked>, Vec<Asked>),
    /// At most one holds.
    Exclusive(Vec<Asked>),
}

impl Rule {
    /// What must never hold together: for each need, what asks for it and that it fails; or two that exclude each other.
    fn parts(&self) -> Vec<Vec<Asked>> {
        match self {
            Self::Needs(when, needs) => {
                let fails = |(setting, value): &Asked| (*setting, !value);
                needs.iter().map(|need| when.iter().copied().chain([fails(need)]).collect()).collect()
            }
            Self::Exclusive(list) => {
                let pairs =
                    list.iter().enumerate().flat_map(|(at, a)| list[at + 1..].iter().map(move |b| vec![*a, *b]));
                pairs.collect()
            }
        }
    }
}

impl Case {
    /// A vehicle of two to six records with rules at random.
    fn roll(seed: u64) -> Self {
        let dice = &mut Dice::new(seed);
        let place = |dice: &mut Dice| {
            [Where::Body, Where::Body, Where::Cluster, Where::Cluster, Where::Restricted][dice.below(5)]
        };
        let records = (0..2 + dice.below(5)).map(|_| (place(dice), dice.one_in(3))).collect();
        let mut case = Self { records, rules: Vec::new(), before: word(dice), after: word(dice) };
        let settings: Vec<usize> = case.settings().collect();
        for _ in 0..=dice.below(9) {
            let mut asked = |least: usize| -> Vec<Asked> {
                let list = (0..least + dice.below(2)).map(|_| (settings[dice.below(settings.len())], dice.one_in(2)));
                // A table holds each setting once.
                list.collect::<BTreeMap<_, _>>().into_iter().collect()
            };
            let (first, second) = (asked(1), asked(1));
            let rule = match asked(2) {
                exclusive if exclusive.len() > 1 && dice.one_in(4) => Rule::Exclusive(exclusive),
                _ => Rule::Needs(first, second),
            };
            case.rules.push(rule);
        }
        // Most ends that break a rule outright are passed over: they ask nothing of the order.
        for _ in 0..5 {
            if case.breaks() {
                case.after = word(dice);
            }
        }
        case
    }

    /// The module whose definition has a rule: both have some, where both are there.
    fn home(&self, rule: usize) -> &'static str {
        let modules: Vec<&str> = (0..self.records.len()).map(|record| self.module(record)).collect();
        let wanted = if rule.is_multiple_of(2) { "body" } else { "cluster" };
        if modules.contains(&wanted) { wanted } else { self.module(0) }
    }

    fn module(&self, record: usize) -> &'static str {
        if self.records[record].0 == Where::Cluster { "cluster" } else { "body" }
    }

    fn settings(&self) -> impl Iterator<Item = usize> + '_ {
        self.records.iter().enumerate().flat_map(|(at, (_, two))| (2 * at..).take(1 + usize::from(*two)))
    }

    /// Every record that is altered: its number, what it changes, and whether it is restricted.
    fn writes(&self) -> Vec<(usize, u16, bool)> {
        let changed: u16 = self.settings().map(|setting| (self.before ^ self.after) & 1 << setting).sum();
        let of = |record: usize| (record, changed & 0b11 << (2 * record), self.records[record].0 == Where::Restricted);
        (0..self.records.len()).map(of).filter(|(_, mask, _)| *mask != 0).collect()
    }

    fn name(&self, setting: usize, module: &str) -> String {
        let of = self.module(setting / 2);
        if of == module { format!("s{setting}") } else { format!("\"{of}.s{setting}\"") }
    }

    fn definition(&self, module: &str) -> String {
        let mut text = format!(
            "format = \"asfound-definition/1\"\nid = \"order-{module}\"\ntitle = \"Order\"\n[applies_to]\nmodule = \"{module}\"\n"
        );
        for (record, (place, two)) in self.records.iter().enumerate().filter(|(at, _)| self.module(*at) == module) {
            write!(text, "[records.0D0{record}]\nlabel = \"R\"\nlength = 1\n").unwrap();
            let tag = if *place == Where::Restricted { "immobiliser" } else { "comfort" };
            for bit in 0..=usize::from(*two) {
                let setting = 2 * record + bit;
                write!(
                    text,
                    "[settings.s{setting}]\nlabel = \"S\"\nrecord = \"0D0{record}\"\nbyte = 0\nbit = {bit}\nbits = 1\ntype = \"switch\"\ntags = [\"{tag}\"]\n"
                )
                .unwrap();
            }
        }
        // Rules stand in the one definition or the other: both are looked at.
        for (at, rule) in self.rules.iter().enumerate().filter(|(at, _)| self.home(*at) == module) {
            let table = |asked: &[Asked]| {
                let conditions: Vec<String> = asked
                    .iter()
                    .map(|(setting, value)| format!("{} = \"{}\"", self.name(*setting, module), on(*value)))
                    .collect();
                format!("{{ {} }}", conditions.join(", "))
            };
            write!(text, "[[rules]]\nname = \"rule-{at}\"\nbecause = \"Rolled\"\n").unwrap();
            match rule {
                Rule::Needs(when, needs) => writeln!(text, "when = {}\nneeds = {}", table(when), table(needs)).unwrap(),
                Rule::Exclusive(list) => {
                    let groups: Vec<String> = list.iter().map(|asked| table(&[*asked])).collect();
                    writeln!(text, "exclusive = [ {} ]", groups.join(", ")).unwrap();
                }
            }
        }
        text
    }

    fn journal(&self) -> Journal {
        let mut journal = Journal::new([]);
        let mut said = reading();
        for module in ["body", "cluster"] {
            let mut records = (0..self.records.len()).filter(|at| self.module(*at) == module).peekable();
            if records.peek().is_none() {
                continue;
            }
            journal.define(&self.definition(module));
            said = said.module(module);
            for record in records {
                let byte = self.before >> (2 * record) & self.bits(record);
                said = said.record(&format!("0D0{record}"), &format!("{byte:02X}"));
            }
        }
        journal.read(said);
        journal
    }

    fn bits(&self, record: usize) -> u16 {
        if self.records[record].1 { 0b11 } else { 0b01 }
    }

    fn plan(&self, journal: &Journal) -> Result<Plan, PlanRefusal> {
        let wanted: Vec<(String, &str)> = self
            .settings()
            .map(|setting| (format!("{}.s{setting}", self.module(setting / 2)), on(self.after >> setting & 1 == 1)))
            .collect();
        let wanted: Vec<(&str, &str)> = wanted.iter().map(|(path, value)| (path.as_str(), *value)).collect();
        journal.plan(&journal.targets(&wanted))
    }

    fn start(&self) -> u16 {
        self.settings().map(|setting| self.before & 1 << setting).sum()
    }

    /// Whether what is kept at the start is kept by other values: a rule that is broken already may not get worse.
    fn keeps(&self, values: u16) -> bool {
        let broken = |part: &Vec<Asked>, values: u16| part.iter().all(|(at, on)| (values >> at & 1 == 1) == *on);
        let parts = self.rules.iter().flat_map(Rule::parts);
        parts.filter(|part| !broken(part, self.start())).all(|part| !broken(&part, values))
    }

    /// Whether the end breaks what is kept at the start.
    fn breaks(&self) -> bool {
        !self.keeps(self.writes().iter().fold(self.start(), |values, (_, mask, _)| values ^ mask))
    }

    /// Whether every write in this order keeps what was kept at the start, and restricted ones come last.
    fn is_safe(&self, order: &[(usize, u16, bool)]) -> bool {
        let mut values = self.start();
        let last_first = order.windows(2).all(|pair| pair[0].2 <= pair[1].2);
        last_first
            && order.iter().all(|(_, mask, _)| {
                values ^= mask;
                self.keeps(values)
            })
    }

    fn any_safe(&self, writes: &mut Vec<(usize, u16, bool)>, from: usize) -> bool {
        if from == writes.len() {
            return self.is_safe(writes);
        }
        (from..writes.len()).any(|at| {
            writes.swap(from, at);
            let safe = self.any_safe(writes, from + 1);
            writes.swap(from, at);
            safe
        })
    }

    /// The writes in the order of the steps of a plan.
    fn order_of(&self, steps: &[Step]) -> Vec<(usize, u16, bool)> {
        let writes = self.writes();
        let number = |step: &Step| {
            let name = step.settings[0].setting.as_str();
            name[1..].parse::<usize>().unwrap() / 2
        };
        steps.iter().map(|step| *writes.iter().find(|(record, ..)| *record == number(step)).unwrap()).collect()
    }
}

fn on(value: bool) -> &'static str {
    if value { "on" } else { "off" }
}

fn word(dice: &mut Dice) -> u16 {
    u16::from_be_bytes([dice.byte(), dice.byte()])
}

/// Holds a plan against every order; tells what it came to.
fn check(case: &Case) -> &'static str {
    let journal = case.journal();
    let mut writes = case.writes();
    let breaks = case.breaks();
    match case.plan(&journal) {
        Err(PlanRefusal::Nothing) => {
            assert!(writes.is_empty(), "{case:?}");
            "nothing"
        }
        Err(PlanRefusal::BreaksRules(_)) => {
            assert!(breaks, "{case:?}");
            "breaks"
        }
        // A record that is written several times is held against an exhaustive search in `planner_oracle`.
        Ok(plan) if plan.steps.iter().any(|step| step.intermediate.is_some()) => {
            assert!(!breaks && !case.any_safe(&mut writes, 0), "one write a record would do: {case:?}");
            "untied"
        }
        Ok(plan) => {
            let order = case.order_of(&plan.steps);
            assert!(order.len() == writes.len() && case.is_safe(&order) && !breaks, "{order:?} {case:?}");
            let classes: Vec<bool> = plan.steps.iter().map(|step| step.class == SafetyClass::Restricted).collect();
            assert_eq!(classes, order.iter().map(|(_, _, restricted)| *restricted).collect::<Vec<_>>());
            "order"
        }
        Err(PlanRefusal::Knot(knot)) => {
            assert!(!breaks && !case.any_safe(&mut writes, 0), "there is an order: {case:?}");
            assert!(!knot.bounded && !knot.rules.is_empty());
            "knot"
        }
        Err(refusal) => panic!("{refusal:?} {case:?}"),
    }
}

/// Several thousand small vehicles, and a count of what they came to, so that neither side of the question stays untried.
#[test]
fn an_order_is_found_exactly_where_one_exists() {
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    for seed in 0..2500 {
        let case = Case::roll(seed);
        *counts.entry(check(&case)).or_default() += 1;
    }
    assert!(
        counts["order"] > 1000 && counts["knot"] > 60 && counts["untied"] > 10 && counts["breaks"] > 60,
        "{counts:?}"
    );
}

/// Thirty steps that no rule ties together and a knot in two: the two are named, and at once.
#[test]
fn a_knot_among_many_steps_is_found_for_certain() {
    let mut text = String::from(
        "format = \"asfound-definition/1\"\nid = \"many\"\ntitle = \"Many\"\n[applies_to]\nmodule = \"body\"\n",
    );
    let mut said = reading().module("body");
    for record in 0..32 {
        write!(
            text,
            "[records.0D{record:02}]\nlabel = \"R\"\nlength = 1\n[settings.s{record}]\nlabel = \"S\"\nrecord = \"0D{record:02}\"\nbyte = 0\ntype = \"switch\"\ntags = [\"comfort\"]\n"
        )
        .unwrap();
        said = said.record(&format!("0D{record:02}"), "00");
    }
    // Each needs the other: whichever is first breaks one rule.
    for (name, when, needs) in [("one-way", 3, 17), ("the-other-way", 17, 3)] {
        write!(text, "[[rules]]\nname = \"{name}\"\nwhen = {{ s{when} = \"on\" }}\nneeds = {{ s{needs} = \"on\" }}\nbecause = \"B\"\n").unwrap();
    }
    let mut journal = Journal::new([&text[..]]);
    journal.read(said);
    let all: Vec<String> = (0..32).map(|setting| format!("body.s{setting}")).collect();
    let wanted: Vec<(&str, &str)> = all.iter().map(|path| (path.as_str(), "on")).collect();
    let Err(PlanRefusal::Knot(knot)) = journal.plan(&journal.targets(&wanted)) else { panic!("a knot") };
    let rules: Vec<&str> = knot.rules.iter().map(|rule| rule.as_str()).collect();
    assert_eq!((rules, knot.bounded), (vec!["one-way", "the-other-way"], false));
    // Without the knot everything goes, in the order of the records.
    let without: Vec<(&str, &str)> =
        wanted.iter().copied().filter(|(path, _)| *path != "body.s3" && *path != "body.s17").collect();
    let plan = journal.plan(&journal.targets(&without)).unwrap();
    let order: Vec<String> = plan.steps.iter().map(|step| format!("body.{}", step.settings[0].setting)).collect();
    assert_eq!(order, without.iter().map(|(path, _)| (*path).to_owned()).collect::<Vec<_>>());
}

/// A rule that is broken already may stay as it is, but of its needs no further one may fail, not even where another is
/// mended for it.
#[test]
fn a_rule_that_is_broken_already_gets_no_worse() {
    let case = |after| Case {
        records: vec![(Where::Body, false), (Where::Body, false), (Where::Body, false)],
        rules: vec![Rule::Needs(vec![(0, true)], vec![(2, true), (4, true)])],
        // 0 is on and 4 is off: broken.
        before: 0b00_0101,
        after,
    };
    assert_eq!(check(&case(0b01_0001)), "breaks");
    let mended = case(0b01_0101);
    assert_eq!(check(&mended), "order");
    assert_eq!(mended.plan(&mended.journal()).unwrap().broken_before.len(), 1);
}
