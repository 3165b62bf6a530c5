//! Reads which modules a definition is for.

use crate::definition::{AppliesTo, Pattern, SoftwareRange};
use crate::document::{Node, TableReader};
use crate::names::ModuleName;

use super::words::NonBlankText;

pub(super) fn read(head: &TableReader<'_, '_>) -> Option<AppliesTo> {
    let node: &Node = head.required("applies_to")?;
    let keys = ["module", "part_number", "hardware", "software"];
    let table = TableReader::open(node, &head.path("applies_to"), &keys, head.collector())?;
    let module: Option<ModuleName> = table.required_parsed("module");
    let part_number = patterns(&table, "part_number");
    let hardware = patterns(&table, "hardware");
    let software = table.optional::<&Node>("software").and_then(|node| software(node, &table));
    Some(AppliesTo { module: module?, part_number, hardware, software, place: table.place() })
}

fn patterns(table: &TableReader<'_, '_>, name: &str) -> Vec<Pattern> {
    if table.get(name).and_then(Node::items).is_some_and(<[Node]>::is_empty) {
        table.error(name, "the list is empty; leave the key out to fit everything");
    }
    table.parsed_items(name).into_iter().map(|(pattern, _)| pattern.value).collect()
}

fn software(node: &Node, table: &TableReader<'_, '_>) -> Option<SoftwareRange> {
    let range = TableReader::open(node, &table.path("software"), &["from", "below", "up_to"], table.collector())?;
    let bound = |name| range.optional::<NonBlankText>(name).map(|words| words.0);
    let read = SoftwareRange { from: bound("from"), below: bound("below"), up_to: bound("up_to") };
    if range.entries().next().is_none() {
        table.error("software", "the range has neither `from` nor `below` nor `up_to`; leave it out to fit everything");
    }
    if range.has("below") && range.has("up_to") {
        range.error("up_to", "a range ends with `below` or with `up_to`, not with both");
    }
    if read.is_turned() {
        table.error("software", format!("no software can be in the range {read}"));
    }
    Some(read)
}
