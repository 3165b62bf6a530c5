//! Trouble codes and status bytes against udsoncan 1.26.1, by digests that `tests/oracles/trouble_codes.py` records.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may panic")]

use asfound_core::trouble_code::{CodeFormat, CodeStatus, TroubleCode};
use serde_json::Value;
use sha2::{Digest, Sha256};

fn recorded() -> Value {
    let text = include_str!("data/trouble_codes/udsoncan.json");
    serde_json::from_str(text).expect("the recorded file is JSON")
}

fn digest(lines: impl IntoIterator<Item = String>) -> String {
    let mut hash = Sha256::new();
    for line in lines {
        hash.update(line.as_bytes());
        hash.update(b"\n");
    }
    hash.finalize().iter().fold(String::new(), |text, byte| text + &format!("{byte:02x}"))
}

/// The text of each code, which must also read back as the code and give its bytes.
fn texts(codes: impl IntoIterator<Item = Vec<u8>>) -> Vec<String> {
    let text = |bytes: Vec<u8>| {
        let code = match *bytes.as_slice() {
            [high, low] => TroubleCode::from_two([high, low]),
            [high, low, failure] => TroubleCode::from_three([high, low, failure]),
            _ => panic!("a code has two or three bytes"),
        };
        let text = code.to_string();
        assert_eq!(text.parse().as_ref(), Ok(&code));
        assert_eq!(code.to_bytes().expect("it has bytes").as_slice(), bytes);
        text
    };
    codes.into_iter().map(text).collect()
}

#[track_caller]
fn agree(texts: &[String], size: usize, blocks: &Value) {
    let blocks = blocks.as_array().expect("a list of digests");
    assert_eq!(texts.len(), size * blocks.len());
    for (at, (block, recorded)) in texts.chunks(size).zip(blocks).enumerate() {
        let made = digest(block.iter().cloned());
        assert_eq!(Some(made.as_str()), recorded.as_str(), "block {at}, {} to {}", block[0], block[size - 1]);
    }
}

#[test]
fn every_two_byte_code() {
    let codes = (0..=u16::MAX).map(|code| code.to_be_bytes().to_vec());
    agree(&texts(codes), 4096, &recorded()["two"]);
}

#[test]
fn twenty_thousand_three_byte_codes() {
    let recorded = &recorded()["three"];
    let mut state = recorded["seed"].as_u64().expect("a seed");
    let count = recorded["count"].as_u64().expect("a count");
    assert_eq!(count, 20_000);
    let codes = (0..count).map(|_| {
        state = (state * 1_103_515_245 + 12_345) % (1 << 31);
        (state >> 7).to_be_bytes()[5..].to_vec()
    });
    agree(&texts(codes), 1000, &recorded["blocks"]);
}

#[test]
fn spellings_of_four_hundred_codes_are_those_codes() {
    let recorded = recorded();
    let spellings = recorded["spellings"].as_array().expect("a list of pairs");
    assert_eq!(spellings.len(), 400);
    for pair in spellings {
        let (spelling, text) = (pair[0].as_str().expect("a text"), pair[1].as_str().expect("a text"));
        let code: TroubleCode = spelling.parse().expect("a code");
        assert_eq!((code.to_string().as_str(), code.failure_type().is_some()), (text, true), "{spelling}");
    }
}

#[test]
fn every_status_byte_has_the_flags_that_the_library_sees() {
    let recorded = recorded();
    let flags: Vec<&str> = recorded["status"]["flags"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    // The library writes the standard's names with underscores and without the ending DTC.
    let written = |name: &str| {
        let name = name.trim_end_matches("DTC");
        name.chars().fold(String::new(), |mut text, letter| {
            if letter.is_uppercase() {
                text.push('_');
            }
            text.extend(letter.to_lowercase());
            text
        })
    };
    assert_eq!(CodeStatus::NAMES.map(written).as_slice(), flags);
    let lines = (0..=u8::MAX).map(|byte| {
        let set: Vec<&str> = CodeStatus(byte).names().collect();
        CodeStatus::NAMES.iter().map(|name| if set.contains(name) { '1' } else { '0' }).collect::<String>()
    });
    assert_eq!(Some(digest(lines).as_str()), recorded["status"]["digest"].as_str());
}

#[test]
fn the_format_identifiers_that_have_a_name() {
    let named: Vec<u8> = (0..=u8::MAX).filter(|byte| CodeFormat(*byte).list().is_some()).collect();
    assert_eq!(serde_json::json!(named), recorded()["formats"]);
}
