//! Trouble codes in reading files, and tables that describe them.

use asfound_capture::descriptions::DescriptionTable;
use asfound_capture::file::parse_reading;
use asfound_capture::merge::merge;
use asfound_core::reading::Reading;
use asfound_core::situation::{Engine, Ignition};

const WHOLE: &str = r#"
format = "asfound-reading/1"
engine = "stopped"
ignition = "on"
did_not_answer = ["seat"]

[[modules.brakes.trouble_codes]]
code = "C0035-11"
status = "2F"
format = "01"
occurrences = 3
odometer_km = 84100
freeze_frame = { raw = "01 02 FF", values = { vehicle_speed = "42 km/h", gear = 3 } }

[[modules.brakes.trouble_codes]]
code = "17158"
"#;

fn read(text: &str) -> Reading {
    parse_reading(text.as_bytes()).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn everything_beside_a_code_is_kept() {
    let reading = read(WHOLE);
    assert_eq!((reading.situation.engine, reading.situation.ignition), (Some(Engine::Stopped), Some(Ignition::On)));
    assert_eq!(reading.situation.did_not_answer.len(), 1);
    let codes = reading.modules[&"brakes".parse().unwrap()].trouble_codes.clone().unwrap();
    assert_eq!(codes.len(), 2);
    let first = &codes[0];
    assert_eq!(first.format.map(|format| format.to_string()).as_deref(), Some("01"));
    assert_eq!((first.occurrences, first.odometer_km), (Some(3), Some(84_100)));
    let frame = first.freeze_frame.as_ref().unwrap();
    assert_eq!(frame.raw.as_ref().unwrap().to_string(), "01 02 FF");
    assert_eq!(frame.values[&"vehicle_speed".parse().unwrap()], "42 km/h");
    assert_eq!(frame.values[&"gear".parse().unwrap()], "3");
    assert_eq!((codes[1].code.system(), codes[1].status), (None, None));
}

#[test]
fn what_is_wrong_beside_a_code_is_named_with_its_place() {
    for (from, to, place) in [
        ("\"01\"", "\"1\"", "modules.brakes.trouble_codes[1].format"),
        ("occurrences = 3", "occurrences = -1", "modules.brakes.trouble_codes[1].occurrences"),
        ("\"01 02 FF\"", "\"01 0\"", "modules.brakes.trouble_codes[1].freeze_frame.raw"),
        ("gear = 3", "gear = true", "modules.brakes.trouble_codes[1].freeze_frame.values.gear"),
        ("\"stopped\"", "\"off\"", "engine"),
        ("[\"seat\"]", "[\"Seat\"]", "did_not_answer[1]"),
    ] {
        let problems = parse_reading(WHOLE.replace(from, to).as_bytes()).unwrap_err();
        assert_eq!(problems.iter().map(|problem| problem.at.as_str()).collect::<Vec<_>>(), [place]);
    }
}

#[test]
fn two_files_give_one_code_once_and_may_not_contradict_each_other() {
    let file = |more: &str| {
        read(&format!("format = \"asfound-reading/1\"\n[[modules.brakes.trouble_codes]]\ncode = \"C0035-11\"\n{more}"))
    };
    let mut reading = file("status = \"2F\"");
    merge(&mut reading, file("occurrences = 3")).unwrap();
    let codes = reading.modules[&"brakes".parse().unwrap()].trouble_codes.clone().unwrap();
    assert_eq!((codes.len(), codes[0].occurrences), (1, Some(3)));
    assert_eq!(codes[0].status.map(|status| status.0), Some(0x2F));
    let error = merge(&mut reading, file("status = \"08\"")).unwrap_err().to_string();
    assert!(
        error.contains("the status of C0035-11 of brakes") && error.contains("2F") && error.contains("08"),
        "{error}"
    );
}

fn table(text: &str, toml: bool) -> Result<DescriptionTable, String> {
    DescriptionTable::parse(text.as_bytes(), toml).map_err(|error| error.to_string())
}

#[test]
fn descriptions_come_from_cells_and_from_toml() {
    let cells = table(
        "Code;System;Description\r\nC0035-11;x;Invented: to ground\r\nC0035;x;Invented: front\r\n17158;;Old\r\n",
        false,
    )
    .unwrap();
    let toml = table(
        "format = \"asfound-descriptions/1\"\ntitle = \"T\"\nsource = \"S\"\n[codes]\n\"C0035-11\" = \"Invented: to ground\"\n\
         C0035 = \"Invented: front\"\n17158 = \"Old\"\n",
        true,
    )
    .unwrap();
    assert_eq!(cells.descriptions, toml.descriptions);
    assert_eq!((toml.title.as_deref(), toml.source.as_deref()), (Some("T"), Some("S")));
    let find = |code: &str| cells.find(&code.parse().unwrap());
    assert_eq!(find("C0035-11"), Some("Invented: to ground"));
    assert_eq!(find("C0035-2F"), Some("Invented: front"), "without its failure type");
    assert_eq!(find("17158"), Some("Old"));
    assert_eq!((find("C0036"), find("1715")), (None, None));
}

#[test]
fn faulty_tables_are_refused_with_their_lines() {
    for (text, toml, said) in [
        ("code,meaning\nC0035,x\n", false, "line 1: there is no column `description`"),
        ("code,code,description\nC0035,C0036,x\n", false, "line 1: there are several columns `code`"),
        (
            "code,description\nC0035,\n,x\n",
            false,
            "line 2: C0035 has no description\nline 3: a trouble code cannot be empty",
        ),
        ("code,description\nC0035,x\nC0035,y\n", false, "line 3: C0035 is described twice"),
        ("code,description\n", false, "the table describes no code"),
        ("", false, "empty"),
        ("[codes]\nC0035 = \"x\"\n", true, "the key `format` is missing"),
        ("format = \"asfound-descriptions/2\"\n[codes]\nC0035 = \"x\"\n", true, "asfound-descriptions/1"),
        ("format = \"asfound-descriptions/1\"\n[codes]\n", true, "the table describes no code"),
        ("format = \"asfound-descriptions/1\"\n[codes]\nC0035 = 5\n", true, "codes.C0035: expected a text"),
        ("format = \"asfound-descriptions/1\"\n[codes]\nC0035 = \" \"\n", true, "C0035 has no description"),
    ] {
        let error = table(text, toml).unwrap_err();
        assert!(error.contains(said), "{text:?}: {error}");
    }
}
