//! Layouts held against reference libraries for ISO 22901-1 and byte formats.
//!
//! The vectors come from odxtools, bitstruct and construct by `tests/oracles/odx_layouts.py`, whose head says what each
//! is the reference for; the first line of the file has the versions.

#![allow(clippy::unwrap_used, reason = "clippy allows it in test functions only, not in their helpers")]

use asfound_core::layout::{
    ByteOrder, Coding, Conversion, DecodeError, Layout, Linear, NoMeaning, Placement, Scale, TextEntry, TextTable,
    ValueKind,
};
use asfound_core::value::{BitMask, Decimal, HexBytes, Value};
use serde::Deserialize;

const VECTORS: &str = include_str!("data/layout/odx.jsonl");

/// The unit of every quantity; the reference libraries have none.
const UNIT: &str = "u";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Head {
    #[serde(rename = "made_by")]
    _made_by: String,
    #[serde(rename = "python")]
    _python: String,
    odxtools: String,
    bitstruct: String,
    construct: String,
    #[serde(rename = "seed")]
    _seed: u64,
    cases: usize,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    #[serde(rename = "case")]
    name: String,
    byte: usize,
    bit: u8,
    bits: u16,
    order: String,
    coding: String,
    r#type: String,
    decimals: Option<u8>,
    pad: Option<HexBytes>,
    /// Offset, factor, denominator.
    scale: Option<[i128; 3]>,
    /// From, to, offset, factor, denominator.
    scales: Option<Vec<[i128; 5]>>,
    /// Name, from, to, write.
    choices: Option<Vec<(String, i128, i128, i128)>>,
    record: HexBytes,
    /// What the reference reads; nothing where it says that the bits have no meaning.
    value: Option<String>,
    put: Option<String>,
    into: Option<HexBytes>,
    gives: Option<HexBytes>,
}

impl Case {
    fn layout(&self) -> Layout {
        let order = match self.order.as_str() {
            "big" => ByteOrder::Big,
            "little" => ByteOrder::Little,
            other => panic!("{}: order {other}", self.name),
        };
        let coding = match self.coding.as_str() {
            "unsigned" => Coding::Unsigned,
            "twos-complement" => Coding::TwosComplement,
            "bcd" => Coding::Bcd,
            "bcd-unpacked" => Coding::BcdUnpacked,
            "ascii" => Coding::Ascii { pad: self.pad.as_ref().map(|pad| pad.as_slice()[0]) },
            "bytes" => Coding::Bytes,
            other => panic!("{}: coding {other}", self.name),
        };
        let kind = match self.r#type.as_str() {
            "integer" => ValueKind::Integer,
            "quantity" => ValueKind::Quantity { unit: UNIT.to_owned(), decimals: self.decimals },
            "choice" => ValueKind::Choice,
            "text" => ValueKind::Text,
            "bytes" => ValueKind::Bytes,
            other => panic!("{}: type {other}", self.name),
        };
        let conversion = match (&self.scale, &self.scales, &self.choices) {
            (None, None, None) => Conversion::Identical,
            (Some([offset, factor, denominator]), None, None) => {
                Conversion::Linear(line(*offset, *factor, *denominator))
            }
            (None, Some(scales), None) => Conversion::ScaleLinear(
                scales
                    .iter()
                    .map(|[from, to, offset, factor, denominator]| Scale {
                        from: *from,
                        to: *to,
                        line: line(*offset, *factor, *denominator),
                    })
                    .collect(),
            ),
            (None, None, Some(choices)) => {
                let entry = |(name, from, to, write): &(String, i128, i128, i128)| TextEntry {
                    name: name.clone(),
                    from: *from,
                    to: *to,
                    write: *write,
                };
                Conversion::Table(TextTable { entries: choices.iter().map(entry).collect() })
            }
            _ => panic!("{}: more than one conversion", self.name),
        };
        let placement = Placement::new(self.byte, self.bit, self.bits, order).unwrap();
        Layout::new(placement, coding, kind, conversion).unwrap_or_else(|errors| panic!("{}: {errors:?}", self.name))
    }

    /// A value as the reference gave it, without going through the project's reading of typed text.
    fn value(&self, text: &str) -> Value {
        match self.r#type.as_str() {
            "integer" => Value::Integer(text.parse::<Decimal>().unwrap().to_integer().unwrap()),
            "quantity" => Value::Quantity { number: text.parse().unwrap(), unit: UNIT.to_owned() },
            "choice" => Value::Choice(text.to_owned()),
            "text" => Value::Text(text.to_owned()),
            _ => Value::Bytes(text.parse().unwrap()),
        }
    }
}

fn line(offset: i128, factor: i128, denominator: i128) -> Linear {
    Linear { numerator: [Decimal::from(offset), Decimal::from(factor)], denominator: Decimal::from(denominator) }
}

fn vectors() -> (Head, Vec<Case>) {
    let mut lines = VECTORS.lines();
    let head = serde_json::from_str(lines.next().unwrap()).unwrap();
    let cases = lines.map(|line| serde_json::from_str(line).unwrap_or_else(|error| panic!("{line}: {error}")));
    (head, cases.collect())
}

#[test]
fn the_vectors_are_all_there_and_name_their_libraries() {
    let (head, cases) = vectors();
    assert!(cases.len() >= 2000, "{} cases", cases.len());
    assert_eq!(cases.len(), head.cases);
    assert!([head.odxtools, head.bitstruct, head.construct].iter().all(|version| !version.is_empty()));
    let with = |has: fn(&Case) -> bool| cases.iter().filter(|case| has(case)).count();
    // The file cannot lose a part unnoticed.
    assert!(with(|case| case.gives.is_some()) >= 2000);
    assert!(with(|case| case.value.is_none()) >= 20);
    for coding in ["unsigned", "twos-complement", "bcd", "bcd-unpacked", "ascii", "bytes"] {
        assert!(cases.iter().filter(|case| case.coding == coding).count() >= 200, "{coding}");
    }
    assert!(with(|case| case.scale.is_some()) >= 500);
    assert!(with(|case| case.scales.is_some()) >= 300);
    assert!(with(|case| case.choices.is_some()) >= 300);
    assert!(with(|case| case.order == "little" && case.bits > 8) >= 500);
}

#[test]
fn reads_what_the_reference_reads() {
    for case in vectors().1 {
        let found = case.layout().decode(case.record.as_slice());
        match &case.value {
            Some(text) => assert_eq!(found, Ok(case.value(text)), "{}", case.name),
            None => assert!(
                matches!(found, Err(DecodeError::NoMeaning { why: NoMeaning::Unlisted | NoMeaning::NoScale, .. })),
                "{}: {found:?}",
                case.name
            ),
        }
    }
}

#[test]
fn writes_what_the_reference_writes() {
    for case in vectors().1 {
        let (Some(put), Some(into), Some(gives)) = (&case.put, &case.into, &case.gives) else { continue };
        let layout = case.layout();
        let mut record = into.as_slice().to_vec();
        layout.encode(&case.value(put), &mut record).unwrap_or_else(|error| panic!("{}: {error}", case.name));
        assert_eq!(HexBytes::from(record.clone()), *gives, "{}", case.name);
        let mut changed = BitMask::differing(into.as_slice(), &record);
        changed.remove(&layout.mask(record.len()));
        assert!(changed.is_empty(), "{}", case.name);
        // What a user would type for the value is taken for the same.
        assert_eq!(layout.parse_value(put), Ok(case.value(put)), "{}", case.name);
    }
}

#[test]
fn comes_back_to_the_same_bits() {
    for case in vectors().1 {
        let layout = case.layout();
        let Ok(value) = layout.decode(case.record.as_slice()) else { continue };
        let ranged = |name: &str| case.choices.iter().flatten().any(|(n, from, to, _)| n == name && from < to);
        if matches!(&value, Value::Choice(name) if ranged(name)) {
            continue; // one name for several coded values
        }
        let mut record = case.record.as_slice().to_vec();
        layout.encode(&value, &mut record).unwrap();
        assert_eq!(record, case.record.as_slice(), "{}", case.name);
    }
}
