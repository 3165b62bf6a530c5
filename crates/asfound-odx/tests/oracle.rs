//! Every record of every layer, held against odxtools 11.7.1 (an implementation of ISO 22901-1): 1,000 contents decode to
//! the same values and encode to the same bits. `tests/oracles/odx_packages.py` wrote down what odxtools found.

use std::collections::BTreeMap;
use std::path::Path;

use asfound_core::definition::{Definition, SettingDefinition};
use asfound_core::layout::Coded;
use asfound_core::names::RecordName;
use asfound_core::value::{HexBytes, Value};
use asfound_odx::{Converter, LayerDefinition, Limits, Package};
use serde_json::Value as Json;
use sha2::{Digest, Sha256};

/// What was compared.
#[derive(Debug, Default, PartialEq, Eq)]
struct Tally {
    records: usize,
    left: usize,
    values: usize,
    kept: usize,
    codes: usize,
    messages: usize,
}

#[test]
fn every_record_of_every_layer_reads_and_writes_as_odxtools_does() {
    let tally = compare("aviary");
    // Each number is what was compared, so that nothing drops out unseen.
    assert_eq!(tally, Tally { records: 188, left: 23, values: 683, kept: 27, codes: 638, messages: 69 });
}

#[test]
fn records_that_are_rows_of_tables_read_and_write_as_odxtools_does() {
    // odxtools wrote the package, too.
    let tally = compare("heron");
    assert_eq!(tally, Tally { records: 27, left: 10, values: 53, kept: 0, codes: 53, messages: 20 });
}

#[test]
fn a_definition_that_was_written_as_a_document_reads_the_same() {
    assert_eq!(compare("exported"), Tally { records: 2, left: 0, values: 11, kept: 0, codes: 10, messages: 1 });
}

#[test]
fn a_package_without_data_identifiers_gives_no_record() {
    // The library's own example reads by an identifier of one byte, which ISO 14229-1 does not have.
    assert_eq!(compare("somersault"), Tally::default());
}

fn compare(name: &str) -> Tally {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data");
    let file = if name == "exported" { "exported.odx-d".to_owned() } else { format!("{name}.pdx") };
    let package = Package::open(&data.join(file), Limits::default(), &mut |_| {}).expect("the recorded data is whole");
    assert_eq!(package.problems(), []);
    let converter = Converter::new(&package);
    let lines = std::fs::read_to_string(data.join(format!("{name}.jsonl"))).expect("the recorded data is whole");
    let mut lines = lines.lines().map(|line| serde_json::from_str::<Json>(line).expect("the recorded data is whole"));
    let contents =
        lines.next().expect("the recorded data is whole")["contents"].as_u64().expect("the recorded data is whole");
    assert_eq!(contents, 1000);
    let (mut tally, mut layers) = (Tally::default(), BTreeMap::new());
    let mut records: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for line in lines {
        let layer = text(&line["layer"]);
        let (taken, definition) = layers.entry(layer.clone()).or_insert_with(|| {
            let taken = converter
                .take_over(converter.find(&layer).expect("the recorded data is whole")[0], None)
                .expect("the recorded data is whole");
            let definition = taken.definition.as_deref().map(|text| {
                let parsed = Definition::parse(text).unwrap_or_else(|problems| panic!("{problems:?}\n{text}"));
                assert!(parsed.warnings.is_empty(), "{:?}", parsed.warnings);
                parsed.definition
            });
            (taken, definition)
        });
        records.entry(layer).or_default().push(text(&line["record"]));
        record(&line, taken, definition.as_ref(), contents, &mut tally);
    }
    // Each record of ours by a data identifier is one that odxtools has, too.
    for (layer, (taken, _)) in &layers {
        let known = &records[layer];
        let ours = taken.report.records.iter().chain(taken.report.left.iter().map(|left| &left.record));
        for record in ours.filter(|record| record.len() == 4) {
            assert!(known.contains(record), "{layer} {record}");
        }
    }
    tally
}

fn record(line: &Json, taken: &LayerDefinition, definition: Option<&Definition>, contents: u64, tally: &mut Tally) {
    let (layer, record) = (text(&line["layer"]), text(&line["record"]));
    let name = format!("{layer}/{record}");
    if taken.report.left.iter().any(|left| left.record == record) {
        let empty = line["length"] == 0;
        assert!(empty || line["variable"] == true, "{name} was left out, and odxtools gives it a length");
        tally.left += 1;
        return;
    }
    let definition = definition.expect("a layer with a record has a definition");
    let described = &definition.records()[&record.parse::<RecordName>().expect("the recorded data is whole")];
    if line["variable"] == true {
        // What odxtools cannot place by lengths alone has something in it that stays bytes.
        assert!(
            taken.report.kept.iter().any(|kept| kept.record == record),
            "{name} has a length that odxtools does not give"
        );
        tally.left += 1;
        return;
    }
    tally.records += 1;
    let length = usize::try_from(line["length"].as_u64().expect("the recorded data is whole"))
        .expect("the recorded data is whole");
    assert_eq!(described.length(), length, "{name}");
    let drawn: Vec<Vec<u8>> = (0..contents).map(|number| content(&name, number, length)).collect();
    let mut settings = Vec::new();
    for value in line["values"].as_array().expect("the recorded data is whole") {
        let path = text(&value["path"]);
        let is = |other: &str, of: &str| other == path && of == record;
        let whole = taken.report.whole.iter().find(|one| is(&one.path, &one.record));
        let kept = taken.report.kept.iter().find(|one| is(&one.path, &one.record));
        match (whole, kept) {
            (Some(whole), None) => {
                let setting = definition.settings().values().find(|one| one.path().setting.as_str() == whole.setting);
                let setting = setting.unwrap_or_else(|| panic!("{name} {path}: no setting {}", whole.setting));
                compare_value(&format!("{name} {path}"), setting, value, &drawn, tally);
                settings.push(setting);
            }
            (None, Some(_)) => tally.kept += 1,
            other => panic!("{name} {path}: neither taken nor kept, or both: {other:?}"),
        }
    }
    if settings.len() == line["values"].as_array().expect("the recorded data is whole").len()
        && line["message"].is_string()
    {
        compare_messages(&name, &settings, line, &drawn);
        tally.messages += 1;
    }
}

fn compare_value(name: &str, setting: &SettingDefinition, expected: &Json, drawn: &[Vec<u8>], tally: &mut Tally) {
    let layout = setting.layout();
    // The same name twice is told apart by a number behind it, and the setting says so.
    let altered = setting.about().is_some_and(|about| about.contains("Names that were empty, long or the same"));
    let (mut values, mut encoded) = (Vec::new(), Vec::new());
    for content in drawn {
        let value = layout.decode(content).ok();
        let coded = value.as_ref().map(|value| layout.coded_for(value).expect("the recorded data is whole"));
        if let (Some(coded), false) = (&coded, expected["category"] == "TEXTTABLE") {
            assert_eq!(coded, &layout.coded(content).expect("the recorded data is whole"), "{name} does not come back");
        }
        let mut text = value.map_or_else(|| "-".to_owned(), |value| canonical(&value));
        if let Some(end) = text.rfind(" (").filter(|_| altered) {
            text.truncate(end);
        }
        values.push(text);
        encoded.push(coded.map_or_else(|| "-".to_owned(), |coded| shown(&coded)));
    }
    let first: Vec<String> =
        expected["first"].as_array().expect("the recorded data is whole").iter().map(text).collect();
    assert_eq!(values[..first.len()], first, "{name} {layout:?}");
    assert_eq!(digest(&values), text(&expected["values"]), "{name} {layout:?}");
    tally.values += 1;
    if expected["codes"].is_string() {
        assert_eq!(digest(&encoded), text(&expected["codes"]), "{name} is encoded otherwise: {layout:?}");
        tally.codes += 1;
    }
}

/// Whole messages: the settings are put over the first message of odxtools, whose other bits are constants.
fn compare_messages(name: &str, settings: &[&SettingDefinition], line: &Json, drawn: &[Vec<u8>]) {
    let base: Vec<u8> = bytes(&text(&line["message"]));
    let first: Vec<Value> = settings
        .iter()
        .map(|setting| {
            drawn.iter().find_map(|content| setting.layout().decode(content).ok()).expect("the recorded data is whole")
        })
        .collect();
    let mut messages = Vec::new();
    for content in drawn {
        let mut message = base.clone();
        for (setting, first) in settings.iter().zip(&first) {
            let value = setting.layout().decode(content).unwrap_or_else(|_| first.clone());
            setting.layout().encode(&value, &mut message).expect("the recorded data is whole");
        }
        messages.push(hexadecimal(&message));
    }
    assert_eq!(digest(&messages), text(&line["messages"]), "{name}");
}

/// Bytes that both sides draw, as the script says.
fn content(name: &str, number: u64, length: usize) -> Vec<u8> {
    let mut stream = Vec::new();
    for block in 0.. {
        if stream.len() >= 2 * length {
            break;
        }
        stream.extend(Sha256::digest(format!("{name}/{number}/{block}")));
    }
    let byte = |at: usize| match stream[2 * at + 1] & 3 {
        1 => stream[2 * at] & 3,
        2 => 0x20 + stream[2 * at] % 95,
        _ => stream[2 * at],
    };
    (0..length).map(byte).collect()
}

/// A value as the script writes it.
fn canonical(value: &Value) -> String {
    match value {
        Value::Switch(on) => format!("t:{}", if *on { "on" } else { "off" }),
        Value::Choice(text) | Value::Text(text) => format!("t:{text}"),
        Value::Bytes(bytes) => {
            format!("b:{}", hexadecimal(bytes.as_slice()))
        }
        Value::Integer(_) | Value::Quantity { .. } => {
            let number = value.number().expect("the recorded data is whole");
            if let Some(whole) = number.to_integer().filter(|whole| whole.unsigned_abs() < 1 << 53) {
                return whole.to_string();
            }
            let text = format!("{:.11e}", number.to_string().parse::<f64>().expect("the recorded data is whole"));
            let (mantissa, exponent) = text.split_once('e').expect("the recorded data is whole");
            format!("{}e{exponent}", mantissa.trim_end_matches('0').trim_end_matches('.'))
        }
    }
}

fn shown(coded: &Coded) -> String {
    match coded {
        Coded::Number(number) => number.to_string(),
        Coded::Bytes(bytes) => format!("b:{}", hexadecimal(bytes)),
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    HexBytes::from(bytes.to_vec()).to_string().replace(' ', "")
}

fn digest(lines: &[String]) -> String {
    hexadecimal(&Sha256::digest(lines.join("\n"))).to_ascii_lowercase()
}

fn text(value: &Json) -> String {
    value.as_str().expect("the recorded data is whole").to_owned()
}

fn bytes(text: &str) -> Vec<u8> {
    (0..text.len() / 2)
        .map(|at| u8::from_str_radix(&text[2 * at..2 * at + 2], 16).expect("the recorded data is whole"))
        .collect()
}
