//! Reads how a number becomes the value that people see.

use crate::document::{Node, NodeValue, TableReader};
use crate::layout::{Conversion, Linear, Scale, TextEntry, TextTable};
use crate::value::Decimal;

/// The keys of a setting that give a conversion; at most one may be there.
const KEYS: [&str; 3] = ["choices", "scale", "scales"];

/// The longest name of a choice, in characters.
const LONGEST_NAME: usize = 64;

/// The conversion of a setting; nothing where it could not be read.
pub(super) fn read(setting: &TableReader<'_, '_>) -> Option<Conversion> {
    let mut given = KEYS.into_iter().filter(|key| setting.has(key));
    let Some(key) = given.next() else { return Some(Conversion::Identical) };
    let mut alone = true;
    for other in given {
        setting
            .error(other, format!("a setting has only one of `choices`, `scale` and `scales`, and `{key}` is there"));
        alone = false;
    }
    let (node, at) = (setting.get(key)?, setting.path(key));
    let conversion = match key {
        "choices" => Conversion::Table(choices(node, &at, setting)?),
        "scale" => {
            let table = TableReader::open(node, &at, &["numerator", "denominator"], setting.collector())?;
            Conversion::Linear(line(&table)?)
        }
        _ => Conversion::ScaleLinear(scales(setting)?),
    };
    alone.then_some(conversion)
}

fn choices(node: &Node, at: &str, setting: &TableReader<'_, '_>) -> Option<TextTable> {
    let table = TableReader::open_free(node, at, setting.collector())?;
    let mut entries = Vec::new();
    let mut whole = true;
    for (key, node, at) in table.entries() {
        if key.name.chars().nth(LONGEST_NAME).is_some() {
            let message = format!("the name of a choice has at most {LONGEST_NAME} characters");
            table.collector().error(key.place, &at, message);
            whole = false;
        }
        let entry = match node.value {
            NodeValue::Integer(number) => Some(TextEntry::single(key.name.clone(), number)),
            NodeValue::Table(_) => range(&key.name, node, &at, &table),
            _ => {
                let message = format!("expected a whole number or a range, found {}", node.kind());
                let hint = "write { from = 2, to = 3, write = 2 } for a range";
                table.collector().error_with_hint(node.place, &at, message, hint);
                None
            }
        };
        whole &= entry.is_some();
        entries.extend(entry);
    }
    whole.then_some(TextTable { entries })
}

fn range(name: &str, node: &Node, at: &str, choices: &TableReader<'_, '_>) -> Option<TextEntry> {
    let table = TableReader::open(node, at, &["from", "to", "write"], choices.collector())?;
    let [from, to, write] = ["from", "to", "write"].map(|name| table.required(name));
    Some(TextEntry { name: name.to_owned(), from: from?, to: to?, write: write? })
}

fn scales(setting: &TableReader<'_, '_>) -> Option<Vec<Scale>> {
    let items = setting.items("scales");
    setting.get("scales").and_then(Node::items)?;
    let scale = |(node, at): &(&Node, String)| {
        let table = TableReader::open(node, at, &["from", "to", "numerator", "denominator"], setting.collector())?;
        let [from, to] = ["from", "to"].map(|name| table.required(name));
        let line = line(&table);
        Some(Scale { from: from?, to: to?, line: line? })
    };
    let scales: Vec<Scale> = items.iter().filter_map(scale).collect();
    (scales.len() == items.len()).then_some(scales)
}

fn line(table: &TableReader<'_, '_>) -> Option<Linear> {
    let numerator: Option<Vec<Decimal>> = table.required("numerator");
    let denominator = table.with_default("denominator", Decimal::from(1));
    let count = table.get("numerator").and_then(Node::items).map(<[Node]>::len);
    if let Some(count) = count.filter(|count| *count != 2) {
        let message = format!("expected offset and factor, two numbers, found {count}");
        table.error("numerator", message);
    }
    let numerator = <[Decimal; 2]>::try_from(numerator?).ok()?;
    Some(Linear { numerator, denominator: denominator? })
}
