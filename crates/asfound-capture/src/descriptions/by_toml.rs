//! Descriptions in TOML.

use asfound_core::document::{Collector, TableReader, decode_utf8, parse_toml};

use super::line::take;
use super::{DescriptionTable, DescriptionsError};

/// The version of the TOML form that this program reads.
pub const DESCRIPTIONS_FORMAT: &str = "asfound-descriptions/1";

pub(super) fn parse(bytes: &[u8]) -> Result<DescriptionTable, DescriptionsError> {
    let root = decode_utf8(bytes).map_err(asfound_core::document::Problems::from).and_then(parse_toml)?;
    let collector = Collector::new();
    let mut table = DescriptionTable::default();
    if let Some(head) = TableReader::open(&root, "", &["format", "title", "source", "codes"], &collector) {
        if let Some(format) = head.required::<&str>("format")
            && format != DESCRIPTIONS_FORMAT
        {
            head.error("format", format!("a table of descriptions says format = \"{DESCRIPTIONS_FORMAT}\""));
        }
        table.title = one_line(&head, "title");
        table.source = one_line(&head, "source");
        let codes = head.required("codes").and_then(|node| TableReader::open_free(node, "codes", &collector));
        for (key, _, at) in codes.iter().flat_map(|codes| codes.entries()) {
            let text: Option<&str> = codes.as_ref().and_then(|codes| codes.optional(&key.name));
            if let Some(Err(what)) = text.map(|text| take(&mut table.descriptions, &key.name, text)) {
                collector.error(key.place, &at, what);
            }
        }
        if codes.is_some_and(|codes| codes.entries().next().is_none()) {
            head.error("codes", "the table describes no code");
        }
    }
    let problems = collector.into_problems();
    if problems.has_errors() { Err(problems.into()) } else { Ok(table) }
}

fn one_line(head: &TableReader<'_, '_>, key: &str) -> Option<String> {
    let text: &str = head.optional(key)?;
    if text.trim().is_empty() || text.contains(char::is_control) {
        head.error(key, "it is blank or holds control characters");
        return None;
    }
    Some(text.trim().to_owned())
}
