//! No text makes a parser panic, and what it says about a text is well-formed.

use asfound_core::definition::Definition;
use asfound_core::document::{Node, NodeValue, Problems, decode_utf8, parse_json, parse_toml};
use proptest::prelude::*;

const WHOLE: &str = include_str!("definition_data/whole.toml");
const FAULTS: &str = include_str!("definition_data/many_faults.toml");

/// Pieces that are likely to matter where they are put.
const PIECES: [&str; 40] = [
    "",
    "\n",
    "\"",
    "'",
    "\"\"\"",
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    ".",
    ",",
    "#",
    "-1",
    "0",
    "1",
    "5",
    "255",
    "65536",
    "340282366920938463463374607431768211455",
    "-170141183460469231731687303715884105728",
    "1e999999999",
    "1.5",
    "nan",
    "true",
    "\"0D01\"",
    "\"body.fog_lamps\"",
    "\"quantity\"",
    "\"choice\"",
    "\"crc\"",
    "\"bcd\"",
    "\"little\"",
    "{ from = 0, to = 9, write = 1 }",
    "[0, 0]",
    "2026-03-14T09:20:00Z",
    "\u{0}",
    "\u{202E}",
    "ä",
    "settings",
];

#[derive(Debug, Clone)]
struct Change {
    at: prop::sample::Index,
    taken: usize,
    put: &'static str,
}

fn changes() -> impl Strategy<Value = Vec<Change>> {
    let change = (any::<prop::sample::Index>(), 0..40_usize, prop::sample::select(&PIECES[..]));
    prop::collection::vec(change.prop_map(|(at, taken, put)| Change { at, taken, put }), 1..4)
}

fn changed(text: &str, changes: &[Change]) -> String {
    let mut characters: Vec<char> = text.chars().collect();
    for change in changes {
        let at = change.at.index(characters.len() + 1);
        let behind = (at + change.taken).min(characters.len());
        characters.splice(at..behind, change.put.chars());
    }
    characters.into_iter().collect()
}

/// Swaps whole lines, so that keys land in other tables.
fn shuffled(text: &str, swaps: &[(prop::sample::Index, prop::sample::Index)]) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    for (a, b) in swaps {
        let (a, b) = (a.index(lines.len()), b.index(lines.len()));
        lines.swap(a, b);
    }
    lines.join("\n")
}

/// Every problem has a place in the text and is safe to print on one line.
fn sound(problems: &Problems, text: &str) -> Result<(), TestCaseError> {
    let lines: Vec<&str> = text.split('\n').collect();
    for problem in problems {
        if let Some(place) = problem.place {
            prop_assert!((1..=lines.len()).contains(&place.line), "{problem}");
            let characters = lines[place.line - 1].chars().count();
            prop_assert!((1..=characters + 1).contains(&place.column), "{problem}");
        }
        prop_assert!(!problem.to_string().contains(char::is_control), "{problem:?}");
        prop_assert!(!problem.message.is_empty() && !problem.message.ends_with('.'), "{problem:?}");
    }
    Ok(())
}

fn examine(text: &str) -> Result<(), TestCaseError> {
    match Definition::parse(text) {
        Ok(parsed) => {
            prop_assert!(!parsed.warnings.has_errors());
            prop_assert_eq!(parsed.definition.text(), text);
            sound(&parsed.warnings, text)?;
            bits_are_apart(&parsed.definition)?;
        }
        Err(problems) => {
            prop_assert!(problems.has_errors(), "refused without a reason");
            sound(&problems, text)?;
        }
    }
    Ok(())
}

/// In a definition that was accepted, every bit of a record belongs to one owner and every value that is named is good.
fn bits_are_apart(definition: &Definition) -> Result<(), TestCaseError> {
    for record in definition.records().values() {
        let length = record.length();
        let of_settings: usize =
            record.settings().iter().map(|name| definition.settings()[name].layout().mask(length).bits().count()).sum();
        let placed: usize = record
            .settings()
            .iter()
            .map(|name| usize::from(definition.settings()[name].layout().placement().bits()))
            .sum();
        prop_assert_eq!(of_settings, record.named().bits().count());
        prop_assert_eq!(of_settings, placed);
        prop_assert!(!record.named().overlaps(record.volatile()));
        prop_assert!(!record.undeclared().overlaps(record.named()));
    }
    for setting in definition.settings().values() {
        if let Some(factory) = setting.factory() {
            prop_assert!(setting.check(factory).is_ok(), "{}", setting.path());
        }
        prop_assert!(!setting.tags().is_empty());
    }
    Ok(())
}

/// Where a setting is, for a definition that is made up.
#[derive(Debug, Clone, Copy)]
struct Spot {
    byte: usize,
    bit: usize,
    bits: usize,
    little: bool,
}

impl Spot {
    /// The bits of the record, by the rule of docs/definitions.md taken literally: the bytes are read as one integer, of
    /// which the bits from `bit` on are taken.
    fn bits(self) -> Vec<(usize, usize)> {
        let bytes = (self.bit + self.bits).div_ceil(8);
        let place = |bit: usize| {
            let step = bit / 8;
            (if self.little { self.byte + step } else { self.byte + bytes - 1 - step }, bit % 8)
        };
        (self.bit..self.bit + self.bits).map(place).collect()
    }
}

fn spots() -> impl Strategy<Value = Vec<Spot>> {
    let spot = (0..5_usize, 0..8_usize, 1..12_usize, any::<bool>());
    prop::collection::vec(spot.prop_map(|(byte, bit, bits, little)| Spot { byte, bit, bits, little }), 1..4)
}

fn with_spots(spots: &[Spot], length: usize, volatile: usize) -> String {
    let head = format!(
        "format = 'asfound-definition/1'\nid = 'x'\ntitle = 'X'\n[applies_to]\nmodule = 'body'\n[records.0D01]\nlabel = \
         'R'\nlength = {length}\nvolatile = [{volatile}]\n"
    );
    let setting = |(index, spot): (usize, &Spot)| {
        let (order, Spot { byte, bit, bits, .. }) = (if spot.little { "little" } else { "big" }, *spot);
        format!(
            "[settings.s{index}]\nlabel = 'S'\nrecord = '0D01'\nbyte = {byte}\nbit = {bit}\nbits = {bits}\norder = \
             '{order}'\ntype = 'integer'\ntags = ['comfort']\n"
        )
    };
    std::iter::once(head).chain(spots.iter().enumerate().map(setting)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_answered(text in "(?s).{0,200}") {
        examine(&text)?;
        if let Err(problems) = parse_json(&text) {
            sound(&problems, &text)?;
        }
    }

    #[test]
    fn toml_like_text_is_answered(pieces in prop::collection::vec(prop::sample::select(&PIECES[..]), 0..60)) {
        examine(&pieces.concat())?;
        let _ = parse_json(&pieces.concat());
    }

    #[test]
    fn a_good_file_with_changes_is_answered(changes in changes()) {
        examine(&changed(WHOLE, &changes))?;
    }

    #[test]
    fn a_good_file_with_lines_in_other_places_is_answered(
        swaps in prop::collection::vec(any::<(prop::sample::Index, prop::sample::Index)>(), 1..8)
    ) {
        examine(&shuffled(WHOLE, &swaps))?;
    }

    #[test]
    fn a_bad_file_with_changes_is_answered(changes in changes()) {
        examine(&changed(FAULTS, &changes))?;
    }

    #[test]
    fn settings_are_accepted_if_and_only_if_their_bits_are_apart(
        spots in spots(), length in 3..7_usize, volatile in 0..3_usize
    ) {
        let mut bits: Vec<(usize, usize)> = spots.iter().flat_map(|spot| spot.bits()).collect();
        let count = bits.len();
        let good = bits.iter().all(|(byte, _)| *byte < length && *byte != volatile);
        bits.sort_unstable();
        bits.dedup();
        let text = with_spots(&spots, length, volatile);
        prop_assert_eq!(Definition::parse(&text).is_ok(), good && bits.len() == count, "{}", text);
        examine(&text)?;
    }

    #[test]
    fn any_bytes_are_text_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..100)) {
        match decode_utf8(&bytes) {
            Ok(text) => prop_assert!(bytes.ends_with(text.as_bytes())),
            Err(problem) => prop_assert!(!problem.message.is_empty()),
        }
    }

    /// The reference is the crate `serde_json`.
    #[test]
    fn json_is_read_as_the_reference_reads_it(value in json()) {
        let text = serde_json::to_string_pretty(&value).unwrap();
        let node = parse_json(&text).unwrap_or_else(|problems| panic!("{problems}\n{text}"));
        prop_assert!(same(&node, &value), "{text}");
    }

    #[test]
    fn nothing_is_json_that_the_reference_refuses(value in json(), changes in changes()) {
        let text = changed(&value.to_string(), &changes);
        if parse_json(&text).is_ok() {
            let reference = serde_json::from_str::<serde_json::Value>(&text);
            // Numbers are kept as text here, so none is too large.
            let fine = reference.as_ref().err().is_none_or(|error| error.to_string().contains("number out of range"));
            prop_assert!(fine, "{text}: {reference:?}");
        }
    }

    /// The reference is the crate `toml`'s own reader of values.
    #[test]
    fn toml_is_read_as_the_reference_reads_it(changes in changes()) {
        let text = changed(WHOLE, &changes);
        if parse_toml(&text).is_ok() {
            prop_assert!(toml::de::DeTable::parse(&text).is_ok(), "{text}");
        }
    }
}

fn json() -> impl Strategy<Value = serde_json::Value> {
    let leaf = prop_oneof![
        any::<bool>().prop_map(serde_json::Value::from),
        any::<i64>().prop_map(serde_json::Value::from),
        any::<f64>().prop_filter("JSON has no infinity", |number| number.is_finite()).prop_map(serde_json::Value::from),
        "(?s).{0,12}".prop_map(serde_json::Value::from),
    ];
    leaf.prop_recursive(4, 40, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(serde_json::Value::from),
            prop::collection::btree_map("(?s).{0,6}", inner, 0..6)
                .prop_map(|map| serde_json::Value::Object(map.into_iter().collect())),
        ]
    })
}

fn same(node: &Node, value: &serde_json::Value) -> bool {
    match (&node.value, value) {
        (NodeValue::Bool(a), serde_json::Value::Bool(b)) => a == b,
        (NodeValue::Text(a), serde_json::Value::String(b)) => a == b,
        (NodeValue::Integer(a), serde_json::Value::Number(b)) => a.to_string() == b.to_string(),
        (NodeValue::Decimal(a), serde_json::Value::Number(b)) => a.parse::<f64>().ok() == b.as_f64(),
        (NodeValue::List(a), serde_json::Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b))
        }
        (NodeValue::Table(a), serde_json::Value::Object(b)) => {
            a.len() == b.len() && a.iter().all(|(key, node)| b.get(&key.name).is_some_and(|value| same(node, value)))
        }
        _ => false,
    }
}
