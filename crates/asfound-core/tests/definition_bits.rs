//! Which bits a setting has where the file does not say it, and that nothing writes any others.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

use asfound_core::definition::Definition;
use asfound_core::layout::Layout;
use asfound_core::value::{BitMask, Value};
use proptest::prelude::*;

fn text(format: u8, setting: &str) -> String {
    format!(
        "format = 'asfound-definition/{format}'\nid = 'x'\ntitle = 'X'\n[applies_to]\nmodule = 'body'\n[records.0D01]\nlabel \
         = 'R'\nlength = 6\n[settings.lamp]\nlabel = 'L'\nrecord = '0D01'\ntags = ['comfort']\n{setting}\n"
    )
}

/// The bits of the setting, as byte and bits in it.
fn bits(definition: &Definition) -> Vec<(usize, u8)> {
    let mask = definition.settings()[&"lamp".parse().unwrap()].layout().mask(6);
    (0..6).map(|at| (at, mask.byte(at))).filter(|(_, bits)| *bits != 0).collect()
}

fn strict(format: u8, setting: &str) -> Result<Vec<(usize, u8)>, String> {
    match Definition::parse(&text(format, setting)) {
        Ok(parsed) => {
            assert!(parsed.warnings.is_empty(), "{}", parsed.warnings);
            Ok(bits(&parsed.definition))
        }
        Err(problems) => Err(problems.to_string()),
    }
}

fn pinned(format: u8, setting: &str) -> Option<Vec<(usize, u8)>> {
    Definition::parse_pinned(&text(format, setting)).ok().map(|parsed| bits(&parsed.definition))
}

const TWO_NAMES: &str = "byte = 3\nbit = 2\ntype = 'choice'\nchoices = { low = 1, high = 0 }";

#[test]
fn a_switch_and_a_choice_of_two_have_one_bit() {
    assert_eq!(strict(2, "byte = 3\nbit = 2\ntype = 'switch'"), Ok(vec![(3, 0x04)]));
    assert_eq!(strict(2, "byte = 3\ntype = 'switch'"), Ok(vec![(3, 0x01)]));
    assert_eq!(strict(2, "byte = 3\nbit = 7\ntype = 'switch'\nchoices = { off = 1, on = 0 }"), Ok(vec![(3, 0x80)]));
    assert_eq!(strict(2, TWO_NAMES), Ok(vec![(3, 0x04)]));
    assert_eq!(strict(2, &format!("{TWO_NAMES}\nbits = 2")), Ok(vec![(3, 0x0C)]));
}

#[test]
fn what_one_bit_cannot_hold_has_eight() {
    assert_eq!(strict(2, "byte = 3\ntype = 'switch'\nchoices = { off = 0, on = 255 }"), Ok(vec![(3, 0xFF)]));
    assert_eq!(strict(2, "byte = 3\ntype = 'choice'\nchoices = { a = 0, b = 1, c = 2 }"), Ok(vec![(3, 0xFF)]));
    assert_eq!(strict(2, "byte = 3\ntype = 'choice'\nchoices = { a = 0, b = 2 }"), Ok(vec![(3, 0xFF)]));
    assert_eq!(strict(2, "byte = 3\ntype = 'choice'\nchoices = { a = 0 }"), Ok(vec![(3, 0xFF)]));
    assert_eq!(strict(2, "byte = 3\ntype = 'integer'"), Ok(vec![(3, 0xFF)]));
}

#[test]
fn crossing_a_byte_has_to_be_said() {
    let crossing = |rest: &str| strict(2, &format!("byte = 3\nbit = 2\n{rest}")).unwrap_err();
    assert_eq!(
        crossing("type = 'integer'"),
        "error: line 14, column 7: settings.lamp.bit: 8 bits from bit 2 on reach from byte 3 into byte 4, and `bits` is \
         not said\n  hint: write how many bits it has, as in bits = 2"
    );
    crossing("type = 'choice'\nchoices = { a = 0, b = 1, c = 2 }");
    crossing("type = 'quantity'\nunit = 's'\norder = 'little'");
    assert_eq!(strict(2, "byte = 3\nbit = 2\nbits = 8\ntype = 'integer'"), Ok(vec![(3, 0x03), (4, 0xFC)]));
}

/// As seen: eight bits across two bytes were read and written, with no word about it.
#[test]
fn the_older_format_takes_no_bit_that_was_not_meant() {
    assert_eq!(
        strict(1, "byte = 3\nbit = 2\ntype = 'switch'"),
        Err("error: line 14, column 7: settings.lamp.bit: 8 bits from bit 2 on reach from byte 3 into byte 4, and `bits` \
             is not said\n  hint: for one bit write bits = 1"
            .to_owned())
    );
    assert_eq!(
        strict(1, "byte = 3\nbit = 0\ntype = 'switch'"),
        Err("error: line 14, column 7: settings.lamp.bit: in this format 8 bits are meant, all of byte 3, where `bits` is \
             not said\n  hint: for one bit write bits = 1"
            .to_owned())
    );
    strict(1, TWO_NAMES).unwrap_err();
    strict(1, "byte = 3\nbit = 2\ntype = 'integer'").unwrap_err();
    // What was never in doubt stays as it was.
    assert_eq!(strict(1, "byte = 3\ntype = 'switch'"), Ok(vec![(3, 0xFF)]));
    assert_eq!(strict(1, "byte = 3\nbit = 0\ntype = 'integer'"), Ok(vec![(3, 0xFF)]));
    assert_eq!(strict(1, "byte = 3\nbit = 2\nbits = 1\ntype = 'switch'"), Ok(vec![(3, 0x04)]));
}

#[test]
fn a_pinned_text_means_what_it_meant() {
    assert_eq!(pinned(1, "byte = 3\nbit = 2\ntype = 'switch'"), Some(vec![(3, 0x03), (4, 0xFC)]));
    assert_eq!(pinned(1, "byte = 3\nbit = 0\ntype = 'switch'"), Some(vec![(3, 0xFF)]));
    assert_eq!(pinned(1, TWO_NAMES), Some(vec![(3, 0x03), (4, 0xFC)]));
    assert_eq!(pinned(2, "byte = 3\nbit = 2\ntype = 'switch'"), Some(vec![(3, 0x04)]));
    // No program ever accepted this one.
    assert_eq!(pinned(2, "byte = 3\nbit = 2\ntype = 'integer'"), None);
}

#[derive(Debug, Clone)]
struct Setting {
    byte: usize,
    bit: Option<usize>,
    bits: Option<usize>,
    little: bool,
    kind: (&'static str, bool),
}

/// Types, and whether one bit holds what they can be.
const KINDS: [(&str, bool); 7] = [
    ("type = 'switch'", true),
    ("type = 'switch'\nchoices = { off = 1, on = 0 }", true),
    ("type = 'switch'\nchoices = { off = 0, on = 2 }", false),
    ("type = 'choice'\nchoices = { a = 0, b = 1 }", true),
    ("type = 'choice'\nchoices = { a = 0, b = 1, c = { from = 2, to = 3, write = 3 } }", false),
    ("type = 'integer'", false),
    ("type = 'quantity'\nunit = 's'\nscale = { numerator = [1, 2] }", false),
];

fn settings() -> impl Strategy<Value = Setting> {
    let some = |range: std::ops::Range<usize>| prop::option::of(range);
    (0..6_usize, some(0..8), some(1..20), any::<bool>(), prop::sample::select(&KINDS[..]))
        .prop_map(|(byte, bit, bits, little, kind)| Setting { byte, bit, bits, little, kind })
}

impl Setting {
    fn text(&self) -> String {
        let key =
            |name: &str, value: Option<usize>| value.map_or_else(String::new, |value| format!("{name} = {value}\n"));
        let order = if self.little { "little" } else { "big" };
        let (bit, bits) = (key("bit", self.bit), key("bits", self.bits));
        format!("byte = {}\n{bit}{bits}order = '{order}'\n{}", self.byte, self.kind.0)
    }

    /// Its bits by the rules of docs/definitions.md taken literally.
    fn bits(&self, format: u8) -> Vec<(usize, usize)> {
        let usual = if format == 2 && self.kind.1 { 1 } else { 8 };
        let (bit, bits) = (self.bit.unwrap_or(0), self.bits.unwrap_or(usual));
        let bytes = (bit + bits).div_ceil(8);
        let place = |at: usize| {
            let byte = if self.little { self.byte + at / 8 } else { self.byte + bytes - 1 - at / 8 };
            (byte, at % 8)
        };
        (bit..bit + bits).map(place).collect()
    }
}

/// Every value that the layout can write, of the first few coded ones.
fn values(layout: &Layout, record: &[u8]) -> Vec<Value> {
    let placement = layout.placement();
    let most = if placement.bits() >= 8 { 255 } else { (1_u64 << placement.bits()) - 1 };
    let coded = |number: u64| {
        let mut bytes = record.to_vec();
        let mask = layout.mask(bytes.len());
        // Whatever the order of the bytes, the lowest bits of some byte: enough to meet different values.
        for (at, (byte, bit)) in mask.bits().enumerate() {
            let on = number >> (at % 8) & 1 == 1;
            bytes[byte] = if on { bytes[byte] | 1 << bit } else { bytes[byte] & !(1 << bit) };
        }
        layout.decode(&bytes).ok()
    };
    (0..=most).filter_map(coded).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_layout_that_is_accepted_writes_only_its_own_bits(
        setting in settings(), format in 1..=2_u8, record in prop::collection::vec(any::<u8>(), 6)
    ) {
        let expected = setting.bits(format);
        let text = text(format, &setting.text());
        let Ok(parsed) = Definition::parse(&text) else { return Ok(()) };
        let layout = parsed.definition.settings()[&"lamp".parse().unwrap()].layout().clone();
        let mut own = BitMask::none(6);
        for (byte, bit) in &expected {
            own.insert(*byte, 1 << bit);
        }
        prop_assert_eq!(&layout.mask(6), &own, "{}", text);
        if setting.bits.is_none() {
            prop_assert!(expected.iter().all(|(byte, _)| *byte == setting.byte), "it crosses a byte unsaid: {}", text);
        }
        for value in values(&layout, &record) {
            let mut written = record.clone();
            layout.encode(&value, &mut written).unwrap();
            for at in 0..6 {
                prop_assert_eq!((written[at] ^ record[at]) & !own.byte(at), 0, "{} {}", value, text);
            }
            prop_assert_eq!(layout.decode(&written).unwrap(), value);
        }
    }

    /// What is refused is refused for a reason that is there: beyond the record, or bits that nobody said.
    #[test]
    fn nothing_that_is_beyond_doubt_is_refused(setting in settings()) {
        let expected = setting.bits(2);
        let within = expected.iter().all(|(byte, _)| *byte < 6);
        let crosses = expected.iter().any(|(byte, _)| *byte != expected[0].0);
        let bits = u32::try_from(expected.len()).unwrap();
        let wide_enough = match setting.kind.0 {
            kind if kind.contains("= 2 }") || kind.contains("to = 3") => bits >= 2,
            _ => true,
        };
        let good = within && wide_enough && (setting.bits.is_some() || !crosses);
        prop_assert_eq!(Definition::parse(&text(2, &setting.text())).is_ok(), good, "{}", setting.text());
    }
}
