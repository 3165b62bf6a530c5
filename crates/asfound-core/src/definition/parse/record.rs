//! Reads the description of a record.

use std::fmt::Display;

use crate::definition::RecordDefinition;
use crate::document::{Collector, FromNode, Key, Node, NodeValue, TableReader, TextPosition};
use crate::layout::Checksum;
use crate::names::RecordName;
use crate::safety::SafetyClass;
use crate::value::BitMask;

use super::byte_ranges::ByteRanges;
use super::checksum;
use super::words::NonBlankText;

/// The longest record: the longest ISO 15765-2 message with a 12-bit length.
const LONGEST: usize = 4095;

/// A record as far as it could be read; what is missing has been reported.
pub(super) struct RecordDraft {
    pub(super) name: Option<RecordName>,
    /// The name as the file writes it.
    pub(super) written: String,
    pub(super) length: Option<usize>,
    pub(super) volatile: Option<BitMask>,
    pub(super) checksum: Option<Checksum>,
    label: Option<String>,
}

impl RecordDraft {
    /// The record without its settings; `class` is that of bits that nobody has named.
    pub(super) fn finish(self, class: SafetyClass) -> Option<RecordDefinition> {
        let length = self.length?;
        Some(RecordDefinition {
            name: self.name?,
            label: self.label?,
            length,
            volatile: self.volatile?,
            checksum: self.checksum,
            settings: Vec::new(),
            named: BitMask::none(length),
            class,
        })
    }
}

pub(super) fn read(key: &Key, node: &Node, at: &str, collector: &Collector) -> Option<RecordDraft> {
    let name = name(&key.name, key.place, at, collector);
    let table = TableReader::open(node, at, &["label", "length", "volatile", "checksum"], collector)?;
    let label: Option<NonBlankText> = table.required("label");
    let length = table.required::<u16>("length").map(usize::from).filter(|length| {
        let fits = (1..=LONGEST).contains(length);
        if !fits {
            table.error("length", format!("a record has 1 to {LONGEST} bytes, not {length}"));
        }
        fits
    });
    let volatile = length.and_then(|length| match table.get("volatile") {
        None => Some(BitMask::none(length)),
        Some(node) => volatile(node, length, &table),
    });
    let checksum = table.get("checksum").and_then(|node| checksum::read(node, length, &table));
    Some(RecordDraft { name, written: key.name.clone(), length, volatile, checksum, label: label.map(|words| words.0) })
}

fn name(text: &str, place: TextPosition, at: &str, collector: &Collector) -> Option<RecordName> {
    let report = |error: &dyn Display| collector.error(place, at, error.to_string());
    let name: RecordName = text.parse().map_err(|error| report(&error)).ok()?;
    // Kept as it is, because journals hold definitions to the letter; a reading with such a name is of the identifier.
    if let Ok(written) = RecordName::written(text)
        && written != name
    {
        collector.warning(
            place,
            at,
            format!("`{name}` is the name of a block here: a reading's `{name}` is {written}"),
        );
    }
    Some(name)
}

fn volatile(node: &Node, length: usize, table: &TableReader<'_, '_>) -> Option<BitMask> {
    if let NodeValue::Bool(all) = node.value {
        return Some(if all { BitMask::all(length) } else { BitMask::none(length) });
    }
    let at = table.path("volatile");
    let mut mask = BitMask::none(length);
    for range in ByteRanges::from_node(node, &at, table.collector())?.0 {
        let (from, to) = range.value.0.into_inner();
        if from > to {
            let message = format!("the range {from}-{to} is turned round");
            table.collector().error(range.place, &at, message);
        } else if to >= length {
            let message = format!("byte {to} is behind the record's end: it has {length} bytes, 0 to {}", length - 1);
            table.collector().error(range.place, &at, message);
        } else {
            (from..=to).for_each(|byte| mask.insert(byte, 0xFF));
        }
    }
    Some(mask)
}
