//! Bits that change by themselves: what was left out of a comparison, and what shows it.

use asfound_core::difference::{Comparison, RecordComparison};
use asfound_core::names::{EntryNumber, ModuleName};
use asfound_core::value::BitMask;
use serde_json::{Value, json};

use super::shared::counted;
use asfound_report::Page;

/// So many runs of bits of one record are named.
const BITS_NAMED: usize = 6;
/// So many entries are named that show it.
const ENTRIES_NAMED: usize = 4;

/// Lists what was left out because it moves by itself, and counts that of which nobody can tell what it is.
pub fn moving_text(page: &mut Page, comparison: &Comparison) {
    let moving: Vec<_> = records(comparison).filter(|(_, record)| !record.moving.is_empty()).collect();
    if !moving.is_empty() {
        page.part("Changes by itself, so left out");
        for (module, record) in &moving {
            page.item(&format!(
                "{module} record {}, {}: seen {} ({})",
                record.record,
                bits_in_words(&record.moving),
                counted(record.times_moved as usize, "time", "times"),
                entries_in_words(&record.shown_by),
            ));
        }
    }
    let bits = |of: fn(&RecordComparison) -> &BitMask| {
        let bits: u32 = records(comparison).map(|(_, record)| of(record).count()).sum();
        let within = records(comparison).filter(|(_, record)| !of(record).is_empty()).count();
        (bits as usize, counted(within, "record", "records"))
    };
    let (left_out, within) = bits(|record| &record.moving);
    if left_out > 0 {
        page.line(&format!("Left out: {} in {within}.", counted(left_out, "bit", "bits")));
    }
    let (unclear, within) = bits(|record| &record.unclear);
    if unclear > 0 {
        page.gap();
        let (bits, differ) = (counted(unclear, "bit", "bits"), if unclear == 1 { "differs" } else { "differ" });
        page.line(&format!("Cannot tell: {bits} in {within} {differ}, and may be settings or measured values."));
    }
}

/// What moves in a record, in JSON.
pub fn moving_json(record: &RecordComparison) -> Value {
    json!({
        "bits": record.moving.to_string(),
        "differing": record.moved.to_string(),
        "times_seen": record.times_moved,
        "shown_by": record.shown_by,
    })
}

fn records(comparison: &Comparison) -> impl Iterator<Item = (&ModuleName, &RecordComparison)> {
    comparison.modules.iter().flat_map(|module| module.records.iter().map(move |record| (&module.module, record)))
}

fn bits_in_words(bits: &BitMask) -> String {
    let runs: Vec<String> = bits.runs().iter().map(ToString::to_string).collect();
    few(&runs, BITS_NAMED)
}

fn entries_in_words(entries: &[EntryNumber]) -> String {
    let numbers: Vec<String> = entries.iter().map(ToString::to_string).collect();
    let noun = if numbers.len() == 1 { "entry" } else { "entries" };
    format!("{noun} {}", few(&numbers, ENTRIES_NAMED))
}

fn few(all: &[String], most: usize) -> String {
    match all.len().saturating_sub(most) {
        0 => all.join(", "),
        more => format!("{} and {more} more", all[..most].join(", ")),
    }
}
