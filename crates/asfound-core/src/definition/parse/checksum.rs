//! Reads the description of a record's checksum.

use crate::document::{Node, TableReader};
use crate::layout::{ByteOrder, Checksum, ChecksumError, ChecksumKind, CrcParameters};

use super::byte_ranges::ByteRanges;
use super::hexadecimal::Hexadecimal;
use super::layout::BYTE_ORDERS;

const KEYS: [&str; 12] = [
    "at",
    "over",
    "kind",
    "order",
    "size",
    "complement",
    "width",
    "polynomial",
    "initial",
    "final_xor",
    "reflect_in",
    "reflect_out",
];

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Sum,
    Xor,
    Crc,
}

/// Which kind a key is for.
const ONLY: [(&str, Kind); 8] = [
    ("size", Kind::Sum),
    ("complement", Kind::Sum),
    ("width", Kind::Crc),
    ("polynomial", Kind::Crc),
    ("initial", Kind::Crc),
    ("final_xor", Kind::Crc),
    ("reflect_in", Kind::Crc),
    ("reflect_out", Kind::Crc),
];

/// The checksum in `node`, of a record of `length` bytes where that is known.
pub(super) fn read(node: &Node, length: Option<usize>, record: &TableReader<'_, '_>) -> Option<Checksum> {
    let table = TableReader::open(node, &record.path("checksum"), &KEYS, record.collector())?;
    let at = table.required::<u16>("at").map(usize::from);
    let over: Option<ByteRanges> = table.required("over");
    let order = table.with_choice("order", "byte order", &BYTE_ORDERS, ByteOrder::Big);
    let words = [("sum", Kind::Sum), ("xor", Kind::Xor), ("crc", Kind::Crc)];
    let word = table.required_choice("kind", "kind of checksum", &words)?;
    for (key, kind) in ONLY {
        if table.has(key) && kind != word {
            let name = if kind == Kind::Sum { "sum" } else { "crc" };
            table.error(key, format!("the key `{key}` is only for the kind `{name}`"));
        }
    }
    let kind = match word {
        Kind::Sum => sum(&table),
        Kind::Xor => Some(ChecksumKind::Xor),
        Kind::Crc => crc(&table),
    };
    let over = over?.0.into_iter().map(|range| range.value.0).collect();
    Checksum::new(kind?, at?, over, order?, length?)
        .map_err(|errors| {
            for error in errors {
                table.error(key_of(&error), error.to_string());
            }
        })
        .ok()
}

fn sum(table: &TableReader<'_, '_>) -> Option<ChecksumKind> {
    let size = table.with_default("size", 1);
    let complement = table.with_default("complement", false);
    Some(ChecksumKind::Sum { size: size?, complement: complement? })
}

/// Every parameter is asked for: a default would hide which of the many customs is meant.
fn crc(table: &TableReader<'_, '_>) -> Option<ChecksumKind> {
    let width = table.required("width");
    let [polynomial, initial, final_xor] =
        ["polynomial", "initial", "final_xor"].map(|name| table.required::<Hexadecimal>(name));
    let [reflect_in, reflect_out] = ["reflect_in", "reflect_out"].map(|name| table.required(name));
    Some(ChecksumKind::Crc(CrcParameters {
        width: width?,
        polynomial: polynomial?.0,
        initial: initial?.0,
        final_xor: final_xor?.0,
        reflect_in: reflect_in?,
        reflect_out: reflect_out?,
    }))
}

fn key_of(error: &ChecksumError) -> &'static str {
    match error {
        ChecksumError::Size(_) => "size",
        ChecksumError::Width(_) => "width",
        ChecksumError::ZeroPolynomial => "polynomial",
        ChecksumError::Wide { parameter, .. } => parameter,
        ChecksumError::Place { .. } => "at",
        ChecksumError::NoBytes
        | ChecksumError::RangeTurned { .. }
        | ChecksumError::RangeOutside { .. }
        | ChecksumError::RangeOwn { .. }
        | ChecksumError::Twice(_) => "over",
    }
}
