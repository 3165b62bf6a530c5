//! Whether place, coding, kind and conversion fit together.

use super::fit_lines::fit_lines;
use super::fit_table::fit_table;
use super::lines::ScaleLines;
use super::{ByteOrder, Coding, Conversion, LayoutError, Placement, TextEntry, TextTable, ValueKind};

/// What coded bits mean, worked out once so that decoding cannot meet anything that does not fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum CodedMeaning {
    /// Numbers on lines.
    Numbers(ScaleLines),
    /// Names, also `on` and `off`.
    Names(TextTable),
    /// Text.
    Text,
    /// Bytes.
    Bytes,
}

/// Everything that does not fit; or what the coded bits mean.
pub(super) fn fit(
    placement: Placement,
    coding: Coding,
    kind: &ValueKind,
    conversion: &Conversion,
) -> Result<CodedMeaning, Vec<LayoutError>> {
    let mut errors = Vec::new();
    fit_place(placement, coding, &mut errors);
    if !kind.allows_coding(coding) {
        errors.push(LayoutError::Coding { kind: kind.clone(), coding, allowed: kind.codings_allowed() });
    }
    // What the bits can hold is known only where the coding itself is sound.
    let numbers = if errors.is_empty() { coding.numbers(placement.bits()) } else { None };
    if let ValueKind::Quantity { unit, .. } = kind {
        fit_unit(unit, &mut errors);
    }
    let meaning = match (kind, conversion) {
        (ValueKind::Switch, Conversion::Identical) => Some(CodedMeaning::Names(TextTable {
            entries: vec![TextEntry::single("off", 0), TextEntry::single("on", 1)],
        })),
        (ValueKind::Switch | ValueKind::Choice, Conversion::Table(table)) => {
            fit_table(table, numbers, &mut errors);
            if *kind == ValueKind::Switch {
                fit_switch_names(table, &mut errors);
            }
            Some(CodedMeaning::Names(table.clone()))
        }
        (
            ValueKind::Integer | ValueKind::Quantity { .. },
            Conversion::Identical | Conversion::Linear(_) | Conversion::ScaleLinear(_),
        ) => fit_lines(kind, numbers, conversion, &mut errors).map(CodedMeaning::Numbers),
        (ValueKind::Text, Conversion::Identical) => Some(CodedMeaning::Text),
        (ValueKind::Bytes, Conversion::Identical) => Some(CodedMeaning::Bytes),
        _ => {
            errors.push(LayoutError::Conversion {
                kind: kind.clone(),
                conversion: conversion.to_string(),
                allowed: conversions_allowed(kind),
            });
            None
        }
    };
    match meaning {
        Some(meaning) if errors.is_empty() => Ok(meaning),
        _ => Err(errors),
    }
}

fn fit_place(placement: Placement, coding: Coding, errors: &mut Vec<LayoutError>) {
    let (bits, allowed) = (placement.bits(), coding.bits_allowed());
    if bits < allowed.least || bits > allowed.most {
        errors.push(LayoutError::Bits { coding, bits, least: allowed.least, most: allowed.most });
    } else if bits % allowed.multiple != 0 {
        errors.push(LayoutError::BitsNotWhole { coding, bits, multiple: allowed.multiple });
    }
    if coding.is_whole_bytes() {
        if placement.bit() != 0 {
            errors.push(LayoutError::Alignment { coding, bit: placement.bit() });
        }
        if placement.order() != ByteOrder::Big {
            errors.push(LayoutError::Order { coding });
        }
    }
}

/// A unit stands behind a number, so it must be possible to tell where the number ends.
fn fit_unit(unit: &str, errors: &mut Vec<LayoutError>) {
    let odd_start = |c: char| c.is_ascii_digit() || ".,+-".contains(c);
    if unit.is_empty() || unit.trim() != unit || unit.starts_with(odd_start) || unit.contains(char::is_control) {
        errors.push(LayoutError::Unit(unit.to_owned()));
    }
}

fn fit_switch_names(table: &TextTable, errors: &mut Vec<LayoutError>) {
    let has = |name: &str| table.entries.iter().any(|entry| entry.name == name);
    if !has("on") || !has("off") || table.entries.len() != 2 {
        errors.push(LayoutError::SwitchNames(table.entries.iter().map(|entry| entry.name.clone()).collect()));
    }
}

fn conversions_allowed(kind: &ValueKind) -> &'static str {
    match kind {
        ValueKind::Switch => "`choices` named `on` and `off`, or none",
        ValueKind::Choice => "`choices`",
        ValueKind::Integer | ValueKind::Quantity { .. } => "`scale`, `scales` or none",
        ValueKind::Text | ValueKind::Bytes => "no conversion",
    }
}
