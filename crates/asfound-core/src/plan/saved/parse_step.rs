//! Reads one step of a saved plan.

use super::parse::mask;
use super::{SavedSetting, SavedStep, SavedWrite};
use crate::document::{Collector, Node, TableReader};
use crate::plan::Intermediate;
use crate::safety::SafetyClass;
use crate::value::{BitMask, HexBytes};

const KEYS: [&str; 17] = [
    "module",
    "address",
    "record",
    "setting",
    "expect",
    "write",
    "volatile_bits",
    "undeclared_bits",
    "read_request",
    "write_request",
    "class",
    "restricted",
    "cautions",
    "definition",
    "intermediate",
    "remarks",
    "settings",
];

const CLASSES: [(&str, SafetyClass); 4] = [
    ("routine", SafetyClass::Routine),
    ("caution", SafetyClass::Caution),
    ("not-known", SafetyClass::NotKnown),
    ("restricted", SafetyClass::Restricted),
];

/// One step.
pub(super) fn step(node: &Node, at: &str, collector: &Collector) -> Option<SavedStep> {
    let table = TableReader::open(node, at, &KEYS, collector)?;
    let module = table.required_parsed("module");
    let write = write(&table);
    let settings = table.items("settings").into_iter().filter_map(|(node, at)| {
        let table = TableReader::open(node, &at, &["setting", "found", "left"], collector)?;
        let (setting, left) = (table.required_parsed("setting"), table.required("left"));
        Some(SavedSetting { setting: setting?, found: table.optional("found"), left: left? })
    });
    let step = SavedStep {
        settings: settings.collect(),
        address: table.optional_parsed("address"),
        undeclared: bits(&table, "undeclared_bits"),
        restricted: table.parsed_items("restricted").into_iter().map(|(tag, _)| tag.value).collect(),
        cautions: table.optional("cautions").unwrap_or_default(),
        definition: table.optional_parsed("definition"),
        intermediate: table.get("intermediate").and_then(|node| intermediate(node, &table)),
        remarks: table.optional("remarks").unwrap_or_default(),
        class: table.required_choice("class", "class", &CLASSES)?,
        module: module?,
        write: write?,
    };
    requests(&table, &step);
    Some(step)
}

fn write(table: &TableReader<'_, '_>) -> Option<SavedWrite> {
    match (table.has("record"), table.has("setting")) {
        (true, false) => {
            let record = table.required_parsed("record");
            let expect = table.optional_parsed::<HexBytes>("expect");
            let write = table.required_parsed::<HexBytes>("write")?;
            if expect.as_ref().is_some_and(|expect| expect.len() != write.len()) {
                table.error("expect", "it has another length than what is to be written");
            }
            Some(SavedWrite::Record { record: record?, expect, write, volatile: bits(table, "volatile_bits") })
        }
        (false, true) => {
            let setting = table.required_parsed("setting");
            let (expect, write) = (table.optional("expect"), table.required("write"));
            Some(SavedWrite::Setting { setting: setting?, expect, write: write? })
        }
        _ => {
            let message = "a step writes a `record` or sets a `setting`";
            table.collector().error(table.place(), table.at(), message);
            None
        }
    }
}

fn intermediate(node: &Node, above: &TableReader<'_, '_>) -> Option<Intermediate> {
    let at = above.path("intermediate");
    let table = TableReader::open(node, &at, &["rules", "for_a_time"], above.collector())?;
    let rules = table.parsed_items("rules").into_iter().map(|(rule, _)| rule.value).collect();
    let for_a_time = table.parsed_items("for_a_time").into_iter().map(|(setting, _)| setting.value).collect();
    Some(Intermediate { rules, for_a_time })
}

fn bits(table: &TableReader<'_, '_>, key: &str) -> BitMask {
    table.optional_parsed::<HexBytes>(key).map_or_else(BitMask::default, |bytes| mask(&bytes))
}

/// The requests follow from the rest; a file in which they say something else was altered by hand.
fn requests(table: &TableReader<'_, '_>, step: &SavedStep) {
    let write = step.write_request(&step.wanted());
    for (key, request) in [("read_request", step.read_request()), ("write_request", write)] {
        let told = table.optional_parsed::<HexBytes>(key);
        if told.is_some() && told != request {
            let meant = request.map_or_else(|| "there is none".to_owned(), |request| format!("it is {request}"));
            table.error(key, format!("the request does not follow from record and bytes: {meant}"));
        }
    }
}
