//! What must hold for every layout, by random layouts and records.

#![allow(clippy::unwrap_used, reason = "clippy allows it in test functions only, not in their helpers")]

use std::collections::BTreeSet;

use asfound_core::layout::{
    ByteOrder, Coded, Coding, Conversion, DecodeError, EncodeError, Layout, LayoutError, Linear, Placement, Scale,
    TextEntry, TextTable, ValueKind,
};
use asfound_core::value::{BitMask, Decimal, Value};
use num_bigint::BigInt;
use num_rational::BigRational;
use proptest::prelude::*;

type Parts = (Placement, Coding, ValueKind, Conversion);

fn coding() -> impl Strategy<Value = Coding> {
    let pad = prop_oneof![Just(None), Just(Some(0x00)), Just(Some(0x20)), any::<u8>().prop_map(Some)];
    prop_oneof![
        4 => Just(Coding::Unsigned),
        3 => Just(Coding::TwosComplement),
        2 => Just(Coding::Bcd),
        2 => Just(Coding::BcdUnpacked),
        2 => pad.prop_map(|pad| Coding::Ascii { pad }),
        1 => Just(Coding::Bytes),
    ]
}

fn decimal() -> impl Strategy<Value = Decimal> {
    (prop_oneof![-40_i64..40, any::<i64>()], 0_u32..3)
        .prop_map(|(digits, places)| Decimal::from_scaled(BigInt::from(digits), places))
}

fn linear() -> impl Strategy<Value = Linear> {
    let denominator = prop_oneof![3 => Just(Decimal::from(1)), 1 => decimal()];
    (decimal(), decimal(), denominator).prop_map(|(a, b, denominator)| Linear { numerator: [a, b], denominator })
}

/// Numbers that are mostly small, as settings have them.
fn number() -> impl Strategy<Value = i128> {
    prop_oneof![4 => -4_i128..20, 1 => -300_i128..300, 1 => any::<i64>().prop_map(i128::from)]
}

fn conversion() -> impl Strategy<Value = Conversion> {
    let range = || (number(), 0_i128..12).prop_map(|(from, more)| (from, from + more));
    let scale = (range(), linear()).prop_map(|((from, to), line)| Scale { from, to, line });
    let entry = ("[a-z]{1,3}", range(), 0_i128..12).prop_map(|(name, (from, to), more)| TextEntry {
        name,
        from,
        to,
        write: from + more.min(to - from),
    });
    let switch = (0_i128..4, 0_i128..4)
        .prop_map(|(off, on)| TextTable { entries: vec![TextEntry::single("off", off), TextEntry::single("on", on)] });
    prop_oneof![
        3 => Just(Conversion::Identical),
        2 => linear().prop_map(Conversion::Linear),
        2 => prop::collection::vec(scale, 0..4).prop_map(Conversion::ScaleLinear),
        2 => prop::collection::vec(entry, 0..5).prop_map(|entries| Conversion::Table(TextTable { entries })),
        1 => switch.prop_map(Conversion::Table),
    ]
}

/// Conversions whose ranges are apart.
fn tidy() -> impl Strategy<Value = Conversion> {
    let ranges = |most: usize| {
        (-1_i128..4, prop::collection::vec((0_i128..3, 0_i128..4), 1..most)).prop_map(|(mut from, steps)| {
            let mut ranges = Vec::new();
            for (gap, more) in steps {
                from += gap;
                ranges.push((from, from + more));
                from += more + 1;
            }
            ranges
        })
    };
    let scales = (ranges(4), prop::collection::vec(linear(), 4)).prop_map(|(ranges, lines)| {
        let scales = ranges.into_iter().zip(lines).map(|((from, to), line)| Scale { from, to, line });
        Conversion::ScaleLinear(scales.collect())
    });
    let table = (ranges(6), any::<bool>()).prop_map(|(ranges, turned)| {
        let entry = |(at, (from, to)): (usize, (i128, i128))| TextEntry {
            name: format!("choice {at}"),
            from,
            to,
            write: (from + to).div_euclid(2),
        };
        let mut entries: Vec<_> = ranges.into_iter().enumerate().map(entry).collect();
        if turned {
            entries.reverse();
        }
        Conversion::Table(TextTable { entries })
    });
    prop_oneof![3 => conversion(), 1 => scales, 1 => table]
}

fn kind() -> impl Strategy<Value = ValueKind> {
    let decimals = prop_oneof![Just(None), (0_u8..5).prop_map(Some), any::<u8>().prop_map(Some)];
    prop_oneof![
        1 => Just(ValueKind::Switch),
        2 => Just(ValueKind::Choice),
        2 => Just(ValueKind::Integer),
        4 => (prop_oneof![9 => Just("km/h"), 1 => Just("")], decimals)
            .prop_map(|(unit, decimals)| ValueKind::Quantity { unit: unit.to_owned(), decimals }),
        1 => Just(ValueKind::Text),
        1 => Just(ValueKind::Bytes),
    ]
}

fn placement() -> impl Strategy<Value = Placement> {
    let bits = prop_oneof![4 => 1_u16..=16, 2 => 1_u16..=70, 2 => (1_u16..=10).prop_map(|bytes| bytes * 8)];
    let bit = prop_oneof![Just(0), 0_u8..8];
    let order = prop_oneof![2 => Just(ByteOrder::Big), 1 => Just(ByteOrder::Little)];
    (0_usize..5, bit, bits, order).prop_map(|(byte, bit, bits, order)| Placement::new(byte, bit, bits, order).unwrap())
}

/// Anything that a definition could say, most of it nonsense.
fn parts() -> impl Strategy<Value = Parts> {
    (placement(), coding(), kind(), conversion())
}

/// Parts whose kind suits the coding and the conversion, so that most make a layout.
fn suited() -> impl Strategy<Value = Parts> {
    (placement(), coding(), kind(), tidy()).prop_map(|(placement, coding, kind, conversion)| {
        let quantity = |decimals| ValueKind::Quantity { unit: "u".to_owned(), decimals };
        let kind = match (coding, &conversion, kind) {
            (Coding::Ascii { .. }, ..) => ValueKind::Text,
            (Coding::Bytes, ..) => ValueKind::Bytes,
            (_, Conversion::Table(table), _) if table.entries.iter().any(|entry| entry.name == "on") => {
                ValueKind::Switch
            }
            (_, Conversion::Table(_), _) => ValueKind::Choice,
            (_, _, ValueKind::Quantity { decimals, .. }) => quantity(decimals.filter(|places| *places < 20)),
            (_, Conversion::Identical, ValueKind::Integer | ValueKind::Text) => ValueKind::Integer,
            _ => quantity(None),
        };
        let coding = match kind {
            ValueKind::Switch => Coding::Unsigned,
            ValueKind::Choice if matches!(coding, Coding::Bcd | Coding::BcdUnpacked) => Coding::Unsigned,
            _ => coding,
        };
        let conversion = if coding.is_whole_bytes() { Conversion::Identical } else { conversion };
        let (bit, order) =
            if coding.is_whole_bytes() { (0, ByteOrder::Big) } else { (placement.bit(), placement.order()) };
        let step = match coding {
            Coding::Bcd => 4,
            Coding::BcdUnpacked | Coding::Ascii { .. } | Coding::Bytes => 8,
            _ => 1,
        };
        let most = if coding.is_whole_bytes() { 96 } else { 64 };
        let bits = placement.bits().next_multiple_of(step).clamp(2, most);
        (Placement::new(placement.byte(), bit, bits, order).unwrap(), coding, kind, conversion)
    })
}

fn layout() -> impl Strategy<Value = Layout> {
    suited().prop_filter_map("does not fit", |(placement, coding, kind, conversion)| {
        Layout::new(placement, coding, kind, conversion).ok()
    })
}

/// Bytes of which many are decimal digits or text, so that more codings have a meaning.
fn record() -> impl Strategy<Value = Vec<u8>> {
    let byte = prop_oneof![any::<u8>(), 0_u8..10, 0x20_u8..0x7F, Just(0), Just(0xFF)];
    prop_oneof![
        prop::collection::vec(byte, 20),
        prop::collection::vec(0_u8..10, 20),
        prop::collection::vec(0x20_u8..0x7F, 20),
        Just(vec![0; 20]),
        Just(vec![0x20; 20]),
    ]
}

/// Whether one name stands for several coded values, so that decoding and encoding need not come back.
fn is_ranged(layout: &Layout, value: &Value) -> bool {
    let name = match value {
        Value::Choice(name) => name.as_str(),
        Value::Switch(true) => "on",
        Value::Switch(false) => "off",
        _ => return false,
    };
    matches!(layout.conversion(), Conversion::Table(table)
        if table.entries.iter().any(|entry| entry.name == name && entry.from != entry.to))
}

/// Puts a number that has a meaning into the record, where the conversion names some; a record is seldom so by chance.
fn with_meaning(layout: &Layout, mut record: Vec<u8>, pick: usize) -> Vec<u8> {
    let numbers: Vec<i128> = match layout.conversion() {
        Conversion::Table(table) => table.entries.iter().flat_map(|entry| [entry.from, entry.to]).collect(),
        Conversion::ScaleLinear(scales) => scales.iter().flat_map(|scale| [scale.from, scale.to]).collect(),
        Conversion::Identical | Conversion::Linear(_) => Vec::new(),
    };
    if let Some(number) = numbers.get(pick % numbers.len().max(1)) {
        let digits: Vec<_> = number.to_string().chars().map(String::from).collect();
        let coded = match layout.coding() {
            Coding::Bcd => u64::from_str_radix(&digits.concat(), 16).unwrap(),
            Coding::BcdUnpacked => u64::from_str_radix(&digits.join("0"), 16).unwrap(),
            _ => u64::try_from(number & ((1 << layout.placement().bits()) - 1)).unwrap(),
        };
        layout.put_coded(&Coded::Number(coded), &mut record).unwrap();
        assert!(layout.decode(&record).is_ok());
    }
    record
}

fn outside(layout: &Layout, a: &[u8], b: &[u8]) -> BitMask {
    let mut differing = BitMask::differing(a, b);
    differing.remove(&layout.mask(a.len()));
    differing
}

/// Every coded value of a layout of at most 12 bits.
fn all_coded(layout: &Layout) -> impl Iterator<Item = Coded> + '_ {
    (0..1_u64 << layout.placement().bits()).map(Coded::Number)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, max_global_rejects: 60_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_panics_and_all_errors_have_words((placement, coding, kind, conversion) in parts(),
                                                record in prop::collection::vec(any::<u8>(), 0..24),
                                                text in ".{0,12}", put in any::<u64>()) {
        match Layout::new(placement, coding, kind, conversion) {
            Ok(layout) => {
                if let Err(error) = layout.decode(&record) {
                    prop_assert!(!error.to_string().is_empty());
                }
                if let Ok(value) = layout.parse_value(&text) {
                    let _ = layout.encode(&value, &mut record.clone());
                }
                for coded in [Coded::Number(put), Coded::Bytes(record.clone())] {
                    let _ = layout.value_of(&coded);
                    let _ = layout.put_coded(&coded, &mut record.clone());
                }
                let _ = (layout.limits(), layout.choices(), layout.mask(record.len()));
            }
            Err(errors) => {
                prop_assert!(!errors.is_empty());
                for error in errors {
                    prop_assert!(!error.to_string().is_empty());
                    let _ = error.part();
                }
            }
        }
    }

    #[test]
    fn decoding_and_encoding_come_back(layout in layout(), record in record(), other in record(), pick in 0_usize..40) {
        let record = with_meaning(&layout, record, pick);
        if let Ok(value) = layout.decode(&record) {
            let coded = layout.coded(&record).unwrap();
            let mut into = other.clone();
            layout.encode(&value, &mut into).unwrap();
            prop_assert!(outside(&layout, &other, &into).is_empty());
            prop_assert_eq!(layout.decode(&into), Ok(value.clone()));
            if !is_ranged(&layout, &value) {
                prop_assert_eq!(layout.coded(&into), Ok(coded));
            }
            // What is shown can be typed.
            let typed = value.to_string();
            prop_assert_eq!(layout.parse_value(&typed), Ok(value));
        }
    }

    #[test]
    fn coded_bits_come_back_also_without_a_meaning(layout in layout(), record in record(), other in record()) {
        let coded = layout.coded(&record).unwrap();
        let mut into = other.clone();
        layout.put_coded(&coded, &mut into).unwrap();
        prop_assert_eq!(layout.coded(&into), Ok(coded));
        prop_assert!(outside(&layout, &other, &into).is_empty());
        let mut inside = BitMask::differing(&record, &into);
        inside = inside.common(&layout.mask(record.len()));
        prop_assert!(inside.is_empty());
    }

    #[test]
    fn a_refused_record_stays_as_it_was(layout in layout(), record in record(), length in 0_usize..20) {
        let short = &record[..length.min(layout.placement().end() - 1)];
        let too_short = DecodeError::TooShort { need: layout.placement().end(), have: short.len() };
        prop_assert_eq!(layout.coded(short), Err(too_short.clone()));
        prop_assert_eq!(layout.decode(short), Err(too_short));
        if let Ok(value) = layout.decode(&record) {
            let mut into = short.to_vec();
            let too_short = EncodeError::TooShort { need: layout.placement().end(), have: short.len() };
            prop_assert_eq!(layout.encode(&value, &mut into), Err(too_short));
            prop_assert_eq!(into, short);
        }
    }

    #[test]
    fn the_limits_are_the_least_and_the_largest(layout in layout()) {
        prop_assume!(layout.placement().bits() <= 12);
        let values: Vec<_> = all_coded(&layout).filter_map(|coded| layout.value_of(&coded).ok()).collect();
        let numbers: BTreeSet<_> = values.iter().filter_map(Value::number).collect();
        match layout.limits() {
            Some((least, most)) => {
                prop_assert_eq!(least.number(), numbers.first().cloned());
                prop_assert_eq!(most.number(), numbers.last().cloned());
                prop_assert_eq!(numbers.len(), values.len(), "every coded value has a value of its own");
            }
            None => prop_assert!(numbers.is_empty()),
        }
    }

    #[test]
    fn the_nearest_are_named(layout in layout(), asked in decimal()) {
        prop_assume!(layout.placement().bits() <= 12 && layout.limits().is_some());
        let numbers: BTreeSet<_> =
            all_coded(&layout).filter_map(|coded| layout.value_of(&coded).ok()?.number()).collect();
        let value = match layout.kind() {
            ValueKind::Quantity { unit, .. } => Value::Quantity { number: asked.clone(), unit: unit.clone() },
            _ => Value::Integer(asked.to_integer().unwrap_or(77)),
        };
        let asked = value.number().unwrap();
        match layout.coded_for(&value) {
            Ok(coded) => prop_assert_eq!(layout.value_of(&coded), Ok(value)),
            Err(EncodeError::Number(error)) => {
                prop_assert!(!numbers.contains(&asked));
                let number = |value: &Option<Value>| value.as_ref().and_then(Value::number);
                prop_assert_eq!(number(&error.below), numbers.range(..&asked).next_back().cloned());
                prop_assert_eq!(number(&error.above), numbers.range(&asked..).next().cloned());
            }
            Err(other) => prop_assert!(false, "{other:?}"),
        }
    }

    /// Rounding is done here a second time, the plain way, and all values are counted.
    #[test]
    fn lines_are_refused_exactly_when_they_show_two_numbers_alike(
        scales in prop::collection::vec((0_i128..64, 0_i128..10, -30_i64..30, -12_i64..12, 1_i64..8), 1..3),
        decimals in 0_u8..3,
    ) {
        let scales: Vec<_> = scales
            .into_iter()
            .map(|(from, more, offset, factor, denominator)| Scale {
                from,
                to: (from + more).min(63),
                line: Linear {
                    numerator: [Decimal::from(i128::from(offset)), Decimal::from(i128::from(factor))],
                    denominator: Decimal::from(i128::from(denominator)),
                },
            })
            .collect();
        let mut shown = Vec::new();
        for Scale { from, to, line } in &scales {
            for number in *from..=*to {
                let [offset, factor] = line.numerator.each_ref().map(Decimal::to_ratio);
                let exact = (offset + factor * BigRational::from_integer(BigInt::from(number)))
                    / line.denominator.to_ratio();
                // `Ratio::round` rounds half away from zero.
                shown.push((exact * BigRational::from_integer(BigInt::from(10).pow(decimals.into()))).round());
            }
        }
        let alike = shown.iter().collect::<BTreeSet<_>>().len() < shown.len();
        let kind = ValueKind::Quantity { unit: "u".to_owned(), decimals: Some(decimals) };
        let place = Placement::new(0, 0, 6, ByteOrder::Big).unwrap();
        match Layout::new(place, Coding::Unsigned, kind, Conversion::ScaleLinear(scales)) {
            Ok(_) => prop_assert!(!alike),
            Err(errors) => {
                let by_alike = |error: &LayoutError| {
                    matches!(error, LayoutError::Alike { .. } | LayoutError::AlikeAcross { .. })
                };
                if errors.iter().all(by_alike) {
                    prop_assert!(alike, "{errors:?}");
                }
            }
        }
    }
}
