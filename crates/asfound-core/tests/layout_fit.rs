//! Layouts as definitions write them: what they read and write, and what is said where they do not fit.

#![allow(clippy::unwrap_used, reason = "clippy allows it in test functions only, not in their helpers")]

use asfound_core::layout::{
    ByteOrder, Coded, Coding, Conversion, DecodeError, EncodeError, Layout, LayoutError, LayoutPart, Linear, NoMeaning,
    Placement, Scale, TextEntry, TextTable, ValueKind,
};
use asfound_core::value::Value;

fn place(bit: u8, bits: u16) -> Placement {
    Placement::new(0, bit, bits, ByteOrder::Big).unwrap()
}

fn line(offset: &str, factor: &str, denominator: &str) -> Linear {
    let decimal = |text: &str| text.parse().unwrap();
    Linear { numerator: [decimal(offset), decimal(factor)], denominator: decimal(denominator) }
}

fn scale(from: i128, to: i128, line: Linear) -> Scale {
    Scale { from, to, line }
}

fn quantity(decimals: Option<u8>) -> ValueKind {
    ValueKind::Quantity { unit: "km/h".to_owned(), decimals }
}

fn km_h(text: &str) -> Value {
    Value::Quantity { number: text.parse().unwrap(), unit: "km/h".to_owned() }
}

fn errors(placement: Placement, coding: Coding, kind: ValueKind, conversion: Conversion) -> Vec<LayoutError> {
    Layout::new(placement, coding, kind, conversion).unwrap_err()
}

fn of_scales(kind: ValueKind, scales: Vec<Scale>) -> Result<Layout, Vec<LayoutError>> {
    Layout::new(place(0, 8), Coding::Unsigned, kind, Conversion::ScaleLinear(scales))
}

fn of_line(kind: ValueKind, line: Linear) -> Result<Layout, Vec<LayoutError>> {
    Layout::new(place(0, 8), Coding::Unsigned, kind, Conversion::Linear(line))
}

fn words(errors: &[LayoutError]) -> Vec<String> {
    errors.iter().map(ToString::to_string).collect()
}

#[test]
fn a_switch_is_off_at_0_and_on_at_1_unless_turned_round() {
    // Common practice, no source: switches coded 0 off, 1 on.
    let plain = Layout::new(place(7, 1), Coding::Unsigned, ValueKind::Switch, Conversion::Identical).unwrap();
    let table = TextTable { entries: vec![TextEntry::single("off", 1), TextEntry::single("on", 0)] };
    let turned = Layout::new(place(7, 1), Coding::Unsigned, ValueKind::Switch, Conversion::Table(table)).unwrap();
    assert_eq!(plain.decode(&[0x80]), Ok(Value::Switch(true)));
    assert_eq!(turned.decode(&[0x80]), Ok(Value::Switch(false)));
    let mut record = [0xFF];
    plain.encode(&Value::Switch(false), &mut record).unwrap();
    assert_eq!(record, [0x7F]);
    assert_eq!(plain.choices(), ["off", "on"]);
    let wide = Layout::new(place(0, 8), Coding::Unsigned, ValueKind::Switch, Conversion::Identical).unwrap();
    let no_meaning = DecodeError::NoMeaning { coded: Coded::Number(2), why: NoMeaning::Unlisted };
    assert_eq!(no_meaning.to_string(), "the coded value 02 has no meaning: none of the choices has it");
    assert_eq!(wide.decode(&[2]), Err(no_meaning));
}

#[test]
fn a_name_with_a_range_is_written_as_one_number_and_restored_by_its_bits() {
    let high = TextEntry { name: "high".to_owned(), from: 2, to: 3, write: 2 };
    let table = TextTable { entries: vec![TextEntry::single("low", 1), high] };
    let layout = Layout::new(place(0, 2), Coding::Unsigned, ValueKind::Choice, Conversion::Table(table)).unwrap();
    assert_eq!(layout.decode(&[3]), Ok(Value::Choice("high".to_owned())));
    let mut record = [0xF0];
    layout.encode(&Value::Choice("high".to_owned()), &mut record).unwrap();
    assert_eq!(record, [0xF2]);
    layout.put_coded(&layout.coded(&[3]).unwrap(), &mut record).unwrap();
    assert_eq!(record, [0xF3]);
    let error = layout.coded_for(&Value::Choice("middle".to_owned())).unwrap_err();
    assert_eq!(error.to_string(), "`middle` is not among the choices low, high");
}

#[test]
fn a_number_that_cannot_be_stored_is_answered_with_the_nearest() {
    let layout = of_line(quantity(None), line("0", "5", "1")).unwrap();
    assert_eq!(layout.limits(), Some((km_h("0"), km_h("1275"))));
    let said = |text: &str| layout.coded_for(&km_h(text)).unwrap_err().to_string();
    assert_eq!(said("12"), "`12 km/h` cannot be stored; the nearest that can are 10 km/h and 15 km/h");
    assert_eq!(said("-1"), "`-1 km/h` cannot be stored; the least that can is 0 km/h");
    assert_eq!(said("1276"), "`1276 km/h` cannot be stored; the largest that can is 1275 km/h");
    let other = Value::Quantity { number: 15.into(), unit: "mph".to_owned() };
    assert_eq!(layout.coded_for(&other).unwrap_err().to_string(), "`15 mph` is not in km/h");
    let kind = layout.coded_for(&Value::Integer(15)).unwrap_err();
    assert_eq!(kind.to_string(), "`15` is not of the type quantity");
}

#[test]
fn rounding_is_half_away_from_zero_and_comes_back() {
    let layout = of_line(quantity(Some(1)), line("-1", "1", "4")).unwrap();
    for (coded, shown) in [(0, "-0.3"), (1, "0"), (2, "0.3"), (3, "0.5"), (4, "0.8")] {
        assert_eq!(layout.decode(&[coded]), Ok(km_h(shown)));
        assert_eq!(layout.coded_for(&km_h(shown)), Ok(Coded::Number(coded.into())));
    }
    // The exact value is not the one that is shown, so it is not what is asked for.
    assert!(matches!(layout.coded_for(&km_h("0.25")), Err(EncodeError::Number(_))));
}

#[test]
fn coded_values_of_another_form_are_refused() {
    let number = Layout::new(place(0, 3), Coding::Unsigned, ValueKind::Integer, Conversion::Identical).unwrap();
    let bytes = Layout::new(place(0, 16), Coding::Bytes, ValueKind::Bytes, Conversion::Identical).unwrap();
    let mut record = [0xFF; 2];
    for (layout, coded) in [
        (&number, Coded::Number(8)),
        (&number, Coded::Bytes(vec![1])),
        (&bytes, Coded::Number(1)),
        (&bytes, Coded::Bytes(vec![1])),
    ] {
        let no_meaning = DecodeError::NoMeaning { coded: coded.clone(), why: NoMeaning::Misfit };
        assert_eq!(layout.value_of(&coded), Err(no_meaning));
        let bits = layout.placement().bits();
        assert_eq!(layout.put_coded(&coded, &mut record), Err(EncodeError::Coded { coded, bits }));
    }
    assert_eq!(record, [0xFF; 2]);
    let short = bytes.coded_for(&Value::Bytes(vec![1].into())).unwrap_err();
    assert_eq!(short.to_string(), "1 bytes do not fit: it takes exactly 2");
}

#[test]
fn everything_that_does_not_fit_is_found_at_once() {
    let unit = |unit: &str| ValueKind::Quantity { unit: unit.to_owned(), decimals: Some(99) };
    let scales =
        vec![scale(9, 5, line("0", "1", "1")), scale(0, 3, line("0", "0", "1")), scale(3, 4, line("0", "1", "0"))];
    let place = Placement::new(0, 3, 65, ByteOrder::Little).unwrap();
    let found = errors(place, Coding::Ascii { pad: None }, unit("3rd"), Conversion::ScaleLinear(scales));
    assert_eq!(
        words(&found),
        [
            "65 bits do not suit the coding ascii, which takes a multiple of 8",
            "the coding ascii takes whole bytes, so its bit position is 0, not 3",
            "the coding ascii is stored in the order of the record, so its byte order is big",
            "the type quantity is not coded as ascii, but as unsigned, twos-complement, bcd or bcd-unpacked",
            "`3rd` cannot be a unit: it must not be empty, start with a digit, point, comma or sign, or have spaces \
             around it",
            "scale 1 of the list goes from 9 to 5: the first is larger than the last",
            "scale 2 of the list and scale 3 of the list both have 3",
            "scale 2 of the list has the factor zero, so that different numbers could not be told apart",
            "scale 3 of the list divides by zero",
            "99 places are more than a value can have (30)",
        ]
    );
    let parts: Vec<_> = found.iter().map(LayoutError::part).collect();
    assert_eq!(
        parts,
        [
            LayoutPart::Bits,
            LayoutPart::Bit,
            LayoutPart::Order,
            LayoutPart::Coding,
            LayoutPart::Unit,
            LayoutPart::ScaleOf(0),
            LayoutPart::ScaleOf(2),
            LayoutPart::ScaleOf(1),
            LayoutPart::ScaleOf(2),
            LayoutPart::Decimals,
        ]
    );
}

#[test]
fn bits_must_suit_the_coding() {
    for (coding, kind, bits) in [
        (Coding::Unsigned, ValueKind::Integer, 65),
        (Coding::TwosComplement, ValueKind::Integer, 1),
        (Coding::TwosComplement, ValueKind::Integer, 65),
        (Coding::Bcd, ValueKind::Integer, 3),
        (Coding::Bcd, ValueKind::Integer, 10),
        (Coding::BcdUnpacked, ValueKind::Integer, 12),
        (Coding::BcdUnpacked, ValueKind::Integer, 72),
        (Coding::Bytes, ValueKind::Bytes, 4),
        (Coding::Bytes, ValueKind::Bytes, 12),
    ] {
        let found = errors(place(0, bits), coding, kind, Conversion::Identical);
        assert_eq!(found.iter().map(LayoutError::part).collect::<Vec<_>>(), [LayoutPart::Bits], "{coding} {bits}");
    }
}

#[test]
fn the_kind_says_which_coding_and_conversion_it_takes() {
    let table = || Conversion::Table(TextTable { entries: vec![TextEntry::single("low", 1)] });
    for (coding, kind, conversion, said) in [
        (Coding::Bcd, ValueKind::Switch, Conversion::Identical, "the type switch is not coded as bcd, but as unsigned"),
        (Coding::Unsigned, ValueKind::Choice, Conversion::Identical, "the type choice takes `choices`, not `none`"),
        (
            Coding::Unsigned,
            ValueKind::Integer,
            table(),
            "the type integer takes `scale`, `scales` or none, not `choices`",
        ),
        (Coding::Unsigned, ValueKind::Switch, table(), "a switch has the choices `on` and `off`, not `low`"),
        (Coding::Bytes, ValueKind::Bytes, table(), "the type bytes takes no conversion, not `choices`"),
    ] {
        assert_eq!(words(&errors(place(0, 8), coding, kind, conversion)), [said]);
    }
}

#[test]
fn values_must_end_as_decimals_and_be_whole_in_an_integer() {
    let said = |kind, line| words(&of_line(kind, line).unwrap_err());
    assert_eq!(
        said(quantity(None), line("0", "1", "3")),
        ["the scale gives values that do not end as decimals: give `decimals`"]
    );
    assert!(of_line(quantity(Some(1)), line("0", "1", "3")).is_ok());
    assert!(of_line(quantity(None), line("0", "3", "3")).is_ok());
    assert_eq!(
        said(ValueKind::Integer, line("0", "1", "2")),
        ["the scale gives fractions, but an integer has none: make it a quantity"]
    );
    assert!(of_line(ValueKind::Integer, line("0.5", "1.5", "0.5")).is_ok());
    // Only one number of the range, and for it the division ends.
    assert!(of_scales(quantity(None), vec![scale(3, 3, line("0", "1", "3"))]).is_ok());
    assert!(of_scales(ValueKind::Integer, vec![scale(4, 4, line("0", "1", "2"))]).is_ok());
    let huge = "9".repeat(58);
    assert_eq!(
        said(quantity(None), line("0", &huge, "1")),
        ["the scale gives values of more digits than are accepted"]
    );
    assert_eq!(
        said(ValueKind::Integer, line("0", &"9".repeat(39), "1")),
        ["the scale gives values of more digits than are accepted"]
    );
}

#[test]
fn no_two_numbers_may_be_shown_alike() {
    let alike = of_line(quantity(Some(0)), line("0", "1", "3")).unwrap_err();
    assert_eq!(words(&alike), ["the scale shows different numbers as the same value: give more `decimals`"]);
    let meet = vec![scale(0, 10, line("0", "1", "1")), scale(11, 20, line("-1", "1", "1"))];
    let across = of_scales(quantity(None), meet).unwrap_err();
    assert_eq!(words(&across), ["scale 1 of the list and scale 2 of the list both show 10"]);
    // Even numbers on one scale and odd ones on the other never meet.
    let woven = vec![scale(0, 10, line("0", "2", "1")), scale(11, 20, line("-21", "2", "1"))];
    assert!(of_scales(quantity(None), woven).is_ok());
    // A line without a slope is no harm for one number alone.
    let special = vec![scale(0, 254, line("0", "1", "1")), scale(255, 255, line("-1", "0", "1"))];
    let layout = of_scales(quantity(None), special).unwrap();
    assert_eq!(layout.decode(&[255]), Ok(km_h("-1")));
    assert_eq!(layout.coded_for(&km_h("-1")), Ok(Coded::Number(255)));
}

#[test]
fn scales_that_cannot_be_compared_are_refused() {
    let scales =
        vec![scale(0, 1 << 40, line("0", "2", "1")), scale((1 << 40) + 1, 1 << 41, line("-2199023255553", "2", "1"))];
    let place = place(0, 64);
    let found = errors(place, Coding::Unsigned, quantity(None), Conversion::ScaleLinear(scales));
    assert_eq!(found, [LayoutError::Interleaved { first: 0, second: 1 }]);
}

#[test]
fn ranges_must_be_within_the_bits() {
    let found = of_scales(quantity(None), vec![scale(0, 256, line("0", "1", "1"))]).unwrap_err();
    assert_eq!(words(&found), ["scale 1 of the list has 256, but the bits hold 0 to 255"]);
    assert_eq!(of_scales(quantity(None), vec![]).unwrap_err(), [LayoutError::NoScales]);
}
