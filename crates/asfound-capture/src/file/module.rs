//! One module of a reading file.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Display;

use asfound_core::document::{Collector, Node, NodeValue, Spanned, TableReader};
use asfound_core::identity::Identity;
use asfound_core::names::{RecordName, SettingName};
use asfound_core::reading::ModuleReading;
use asfound_core::trouble_code::{FreezeFrame, ReportedCode, TroubleCode};
use asfound_core::value::HexBytes;

const KEYS: [&str; 9] =
    ["address", "part_number", "hardware", "software", "serial", "records", "settings", "refused", "trouble_codes"];

pub(super) fn module(node: &Node, at: &str, collector: &Collector) -> ModuleReading {
    let Some(table) = TableReader::open(node, at, &KEYS, collector) else { return ModuleReading::default() };
    let identity = Identity {
        part_number: line_of_text(&table, "part_number"),
        hardware: line_of_text(&table, "hardware"),
        software: line_of_text(&table, "software"),
        serial: line_of_text(&table, "serial"),
    };
    ModuleReading {
        address: table.optional_parsed("address"),
        identity,
        records: named(&table, "records", RecordName::written, bytes),
        settings: named(&table, "settings", str::parse::<SettingName>, value),
        refused: refused(&table),
        trouble_codes: table.has("trouble_codes").then(|| codes(&table)),
    }
}

/// A text of one line that is not blank, without white space around it: a part of an identity, a name.
pub(super) fn line_of_text(table: &TableReader<'_, '_>, name: &str) -> Option<String> {
    let text = table.optional::<&str>(name)?;
    if text.trim().is_empty() || text.contains(char::is_control) {
        table.error(name, "it is blank or holds control characters; leave the key out when it was not read");
        return None;
    }
    Some(text.trim().to_owned())
}

/// The keys of a table as names, with what stands at each.
fn named<N: Display + Ord, E: Display, V>(
    table: &TableReader<'_, '_>,
    key: &str,
    parse: impl Fn(&str) -> Result<N, E>,
    content: impl Fn(&Node, &str, &Collector) -> Option<V>,
) -> BTreeMap<N, V> {
    let mut found = BTreeMap::new();
    let Some(node) = table.get(key) else { return found };
    let Some(list) = TableReader::open_free(node, &table.path(key), table.collector()) else { return found };
    for (key, node, at) in list.entries() {
        match parse(&key.name) {
            Ok(name) if found.contains_key(&name) => {
                table.collector().error(key.place, &at, format!("{name} is given twice, in two ways of writing it"));
            }
            Ok(name) => {
                if let Some(content) = content(node, &at, table.collector()) {
                    found.insert(name, content);
                }
            }
            Err(error) => table.collector().error(key.place, &at, error.to_string()),
        }
    }
    found
}

fn bytes(node: &Node, at: &str, collector: &Collector) -> Option<HexBytes> {
    let NodeValue::Text(text) = &node.value else {
        let message = format!("expected the record's bytes as hexadecimal text, found {}", node.kind());
        collector.error_with_hint(node.place, at, message, "write it as in \"03 0F 85 00\"");
        return None;
    };
    match text.parse::<HexBytes>() {
        Ok(bytes) if bytes.is_empty() => {
            collector.error_with_hint(
                node.place,
                at,
                "the record has no bytes",
                "a record that the module would not give belongs under `refused`",
            );
            None
        }
        Ok(bytes) => Some(bytes),
        Err(error) => {
            collector.error(node.place, at, error.to_string());
            None
        }
    }
}

/// A value as written. What it means is told by the definition, so a number stays the text that it is.
fn value(node: &Node, at: &str, collector: &Collector) -> Option<String> {
    let unfit = |c: char| c.is_control() && c != '\t';
    match &node.value {
        NodeValue::Text(text) if text.contains(unfit) => {
            collector.error(node.place, at, "a value is one line of text, and this one holds control characters");
            None
        }
        NodeValue::Text(text) if !text.trim().is_empty() => Some(text.trim().to_owned()),
        NodeValue::Integer(number) => Some(number.to_string()),
        NodeValue::Decimal(text) => Some(text.clone()),
        NodeValue::Bool(on) => {
            let hint = format!("write \"{}\"", if *on { "on" } else { "off" });
            collector.error_with_hint(node.place, at, "a switch is on or off, not true or false", hint);
            None
        }
        _ => {
            collector.error(node.place, at, format!("expected a value, found {}", node.kind()));
            None
        }
    }
}

fn refused(table: &TableReader<'_, '_>) -> BTreeSet<RecordName> {
    let mut refused = BTreeSet::new();
    for (at, text) in table.optional::<Vec<Spanned<&str>>>("refused").unwrap_or_default().into_iter().enumerate() {
        match RecordName::written(text.value) {
            Ok(name) => {
                refused.insert(name);
            }
            Err(error) => {
                let path = format!("{}[{}]", table.path("refused"), at + 1);
                table.collector().error(text.place, &path, error.to_string());
            }
        }
    }
    refused
}

const CODE_KEYS: [&str; 6] = ["code", "status", "format", "occurrences", "odometer_km", "freeze_frame"];

fn codes(table: &TableReader<'_, '_>) -> Vec<ReportedCode> {
    let mut codes: Vec<ReportedCode> = Vec::new();
    let mut seen = BTreeSet::new();
    for (at, node) in table.optional::<Vec<&Node>>("trouble_codes").unwrap_or_default().into_iter().enumerate() {
        let path = format!("{}[{}]", table.path("trouble_codes"), at + 1);
        let Some(entry) = TableReader::open(node, &path, &CODE_KEYS, table.collector()) else { continue };
        let status = entry.optional_parsed("status");
        let format = entry.optional_parsed("format");
        let (occurrences, odometer_km) = (entry.optional("occurrences"), entry.optional("odometer_km"));
        let freeze_frame = freeze_frame(&entry);
        let Some(code) = entry.required_parsed::<TroubleCode>("code") else { continue };
        if seen.insert(code.clone()) {
            let reported = ReportedCode::new(code, status);
            codes.push(ReportedCode { format, occurrences, odometer_km, freeze_frame, ..reported });
        } else {
            entry.error("code", format!("{code} is given twice for this module"));
        }
    }
    codes
}

fn freeze_frame(code: &TableReader<'_, '_>) -> Option<FreezeFrame> {
    let node = code.get("freeze_frame")?;
    let table = TableReader::open(node, &code.path("freeze_frame"), &["raw", "values"], code.collector())?;
    let raw = table.get("raw").and_then(|node| bytes(node, &table.path("raw"), table.collector()));
    let frame = FreezeFrame { raw, values: named(&table, "values", str::parse::<SettingName>, value) };
    if table.entries().next().is_none() {
        code.error("freeze_frame", "it is empty: give `raw`, `values` or both, or leave it out");
    }
    Some(frame)
}
