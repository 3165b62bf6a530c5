//! Reads the rules that say in which situations trouble codes can be believed.

use std::collections::BTreeMap;

use crate::definition::{Pattern, PlausibilityRule};
use crate::document::{TableReader, TextPosition};
use crate::names::RuleName;
use crate::situation::{Engine, Ignition};
use crate::trouble_code::CodeStatus;
use crate::value::Decimal;

use super::Context;
use super::words::NonBlankText;

const KEYS: [&str; 6] = ["name", "codes", "status", "needs", "because", "source"];

pub(super) fn read(head: &TableReader<'_, '_>, context: &Context<'_>) -> Vec<PlausibilityRule> {
    let mut names: BTreeMap<RuleName, TextPosition> = BTreeMap::new();
    let mut rules = Vec::new();
    for (node, at) in head.items("plausibility") {
        let Some(table) = TableReader::open(node, &at, &KEYS, context.collector) else { continue };
        let name: Option<RuleName> = table.required_parsed("name");
        if let Some(name) = &name {
            if let Some(first) = names.get(name) {
                table.error("name", format!("there is a plausibility rule `{name}` already, at {first}"));
            } else {
                names.insert(name.clone(), table.place_of("name"));
            }
        }
        let codes: Vec<Pattern> = table.parsed_items("codes").into_iter().map(|(code, _)| code.value).collect();
        if codes.is_empty() {
            table.error("codes", "name at least one code, as in [\"P030?\"]");
        }
        let status = status(&table);
        let because: Option<NonBlankText> = table.required("because");
        let source: Option<NonBlankText> = table.optional("source");
        let needs = needs(&table, context);
        if let (Some(name), Some(because), Some(needs)) = (name, because, needs) {
            rules.push(PlausibilityRule {
                name,
                codes,
                status,
                because: because.0,
                source: source.map(|words| words.0),
                place: table.place(),
                ..needs
            });
        }
    }
    rules
}

/// The bits that are named, as a byte.
fn status(table: &TableReader<'_, '_>) -> CodeStatus {
    let mut bits = CodeStatus::NAMES.iter().enumerate().map(|(bit, name)| (*name, 1u8 << bit));
    let words: [(&str, u8); 8] = std::array::from_fn(|_| bits.next().expect("there are eight bits"));
    CodeStatus(table.choices("status", "status bit", &words).into_iter().fold(0, |byte, bit| byte | bit.value))
}

/// A rule that has nothing but what it needs.
fn needs(rule: &TableReader<'_, '_>, context: &Context<'_>) -> Option<PlausibilityRule> {
    let node = rule.required("needs")?;
    let keys = ["engine", "ignition", "supply_voltage"];
    let table = TableReader::open(node, &rule.path("needs"), &keys, context.collector)?;
    if table.entries().next().is_none() {
        rule.error("needs", "the rule needs nothing: give `engine`, `ignition` or `supply_voltage`");
    }
    let engine = table.optional_choice(
        "engine",
        "state of an engine",
        &[("running", Engine::Running), ("stopped", Engine::Stopped)],
    );
    let ignition =
        table.optional_choice("ignition", "state of the ignition", &[("on", Ignition::On), ("off", Ignition::Off)]);
    let volts = table.get("supply_voltage").and_then(|node| {
        let at = table.path("supply_voltage");
        let volts = TableReader::open(node, &at, &["at_least", "at_most"], context.collector)?;
        if volts.entries().next().is_none() {
            table.error("supply_voltage", "nothing is asked of the voltage: give `at_least` or `at_most`");
        }
        Some((volts.optional::<Decimal>("at_least"), volts.optional::<Decimal>("at_most")))
    });
    let (least_volts, most_volts) = volts.unwrap_or_default();
    let name: RuleName = "unnamed".parse().expect("it is a rule's name");
    Some(PlausibilityRule {
        name,
        codes: Vec::new(),
        status: CodeStatus(0),
        engine,
        ignition,
        least_volts,
        most_volts,
        because: String::new(),
        source: None,
        place: table.place(),
    })
}
