//! What files say twice, in two ways of writing: one fact, and no contradiction.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use asfound_capture::file::parse_reading;
use asfound_capture::merge::{MergeError, merge, reading_of_table};
use asfound_capture::table::{TableOptions, parse_table};
use asfound_core::names::ModuleName;
use asfound_core::reading::Reading;

fn table(text: &str) -> Result<Reading, String> {
    let table = parse_table(text.as_bytes(), &TableOptions::default()).map_err(|problems| problems.to_string())?;
    reading_of_table(table, |_, _, _| None).map_err(|error| error.to_string())
}

fn file(module: &str) -> Reading {
    let text = format!("format = \"asfound-reading/1\"\n[modules.body]\n{module}\n");
    parse_reading(text.as_bytes()).unwrap_or_else(|problems| panic!("{problems:?}\n{text}"))
}

fn body() -> ModuleName {
    "body".parse().unwrap()
}

#[test]
fn lines_of_a_table_that_say_the_same_differently_are_one() {
    let text = "module,setting,value,part_number,software\n\
                body,fade,\"30,0 s\",7M0-951 A,0214\n\
                body,fade,30 s,7m0-951a,214\n\
                body,fold,Off,,\n\
                body,fold,off,,\n";
    let reading = table(text).unwrap();
    let body = &reading.modules[&body()];
    assert_eq!(body.settings.values().collect::<Vec<_>>(), ["30,0 s", "Off"], "the first text stands");
    assert_eq!(body.identity.part_number.as_deref(), Some("7M0-951 A"));
    assert_eq!(body.identity.software.as_deref(), Some("0214"));
    // What may be the same or not is asked about.
    let error = table("module,setting,value\nbody,fade,5\nbody,fade,5 x\n").unwrap_err();
    assert!(error.contains("fade"), "{error}");
}

#[test]
fn a_code_is_one_code_in_every_spelling() {
    let reading = table("module,trouble_code,status\nbody,B1A0412,2F\nbody,b1a04-12,2F\nbody,U1123 00,\n").unwrap();
    let codes = reading.modules[&body()].trouble_codes.as_ref().unwrap();
    assert_eq!(codes.iter().map(|it| it.code.to_string()).collect::<Vec<_>>(), ["B1A04-12", "U1123-00"]);
    let reading = file("trouble_codes = [{ code = \"b1a0412\" }]");
    assert_eq!(reading.modules[&body()].trouble_codes.as_ref().unwrap()[0].code.to_string(), "B1A04-12");
}

#[test]
fn a_record_is_one_record_in_every_case() {
    for name in ["F190", "f190", "0xF190", "\"$f190\""] {
        let reading = file(&format!("records = {{ {name} = \"01\" }}\nrefused = [\"0d44\", \"Local-1a\"]"));
        let body = &reading.modules[&body()];
        assert_eq!(body.records.keys().map(ToString::to_string).collect::<Vec<_>>(), ["F190"], "{name}");
        assert_eq!(body.refused.iter().map(ToString::to_string).collect::<Vec<_>>(), ["0D44", "local-1A"]);
    }
    let text = "format = \"asfound-reading/1\"\n[modules.body]\nrecords = { F190 = \"01\", f190 = \"02\" }\n";
    let problems = format!("{:?}", parse_reading(text.as_bytes()).unwrap_err());
    assert!(problems.contains("F190 is given twice"), "{problems}");
}

#[test]
fn files_that_are_read_together_may_say_the_same_differently() {
    let mut reading = file("software = \"0214\"\nsettings = { fade = \"30,0 s\", mode = \"0x00 0x1F\" }");
    merge(&mut reading, file("software = \"214\"\nsettings = { fade = \"30 s\", mode = \"00 1f\" }")).unwrap();
    let body = &reading.modules[&body()];
    assert_eq!(body.identity.software.as_deref(), Some("0214"));
    assert_eq!(body.settings.values().collect::<Vec<_>>(), ["30,0 s", "0x00 0x1F"]);
    for (first, second) in
        [("settings = { fade = \"5\" }", "settings = { fade = \"5 x\" }"), ("serial = \"S1\"", "serial = \"S2\"")]
    {
        assert!(matches!(merge(&mut file(first), file(second)), Err(MergeError::Differs { .. })), "{first} {second}");
    }
}

/// The longest message of ISO 15765-2 with a length of 12 bits has 4,095 bytes; the escape sequence carries more.
#[test]
fn a_record_may_be_longer_than_a_message_without_escape_sequence() {
    let reading = file(&format!("records = {{ 0D01 = \"{}\" }}", "00".repeat(5000)));
    assert_eq!(reading.modules[&body()].records.values().map(|bytes| bytes.len()).collect::<Vec<_>>(), [5000]);
}
