//! Tables as another program writes them: every mix of encoding, byte-order mark, separator, line end and quoting.
//!
//! The files come from Python's csv module and codecs (`data/table/make_dialects.py`), so that writer and reader
//! share no code.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use asfound_capture::table::{RowContent, SettingCell, TableOptions, TableReading, parse_table};

const DIALECTS: &str = include_str!("data/table/dialects.tsv");

fn bytes_of(hex: &str) -> Vec<u8> {
    (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
}

fn options(encoding: &str, columns: &str) -> TableOptions {
    TableOptions {
        columns: Some(columns.parse().unwrap()),
        encoding: (encoding == "windows-1252").then(|| encoding.parse().unwrap()),
        ..TableOptions::default()
    }
}

/// Line, module, setting and value of each row.
fn rows(reading: &TableReading) -> Vec<(usize, &str, &str, &str)> {
    reading
        .rows
        .iter()
        .map(|row| match &row.what {
            RowContent::Setting { setting: SettingCell::Label { text, .. }, value } => {
                (row.line, row.module.as_str(), text.as_str(), value.as_str())
            }
            other => panic!("no labelled setting: {other:?}"),
        })
        .collect()
}

#[test]
fn every_dialect_says_the_same() {
    let mut seen = 0;
    for line in DIALECTS.lines() {
        let [encoding, separator, end, quoting, hex] = line.split('\t').collect::<Vec<_>>()[..] else {
            panic!("five columns: {line}");
        };
        let dialect = format!("{encoding}, {separator}, {end}, {quoting}");
        let broken = match end {
            "lf" => "Two\nlines – first",
            "crlf" => "Two\r\nlines – first",
            "cr" => "Two\rlines – first",
            other => panic!("no line end: {other}"),
        };
        let expected = [
            (2, "body_control", "Lane-change flashes", "5"),
            (3, "tuermodul", "Text with \"marks\"", "a;b,c\td"),
            (4, "tuermodul", broken, "é"),
            (6, "tuermodul", "Last", "0"),
        ];
        let columns = "module=STEUERGERÄT,setting=name,value=\"Wert; Wert, now\"";
        let reading = parse_table(&bytes_of(hex), &options(encoding, columns))
            .unwrap_or_else(|problems| panic!("{dialect}: {problems}"));
        assert_eq!(rows(&reading), expected, "{dialect}");
        assert_eq!(reading.separator.to_string(), separator, "{dialect}");
        let name = encoding.split(' ').next().unwrap();
        assert!(reading.encoding.name().eq_ignore_ascii_case(name), "{dialect}");
        seen += 1;
    }
    assert_eq!(seen, 5 * 3 * 3 * 2);
}

/// The file that an older spreadsheet saves by default: refused with the line and the way out, never read askew.
#[test]
fn an_older_encoding_has_to_be_given() {
    let files = DIALECTS.lines().filter_map(|line| line.strip_prefix("windows-1252\t"));
    let mut seen = 0;
    for line in files {
        let hex = line.rsplit('\t').next().unwrap();
        let columns = "module=#1,setting=#2,value=#3";
        let problems = parse_table(&bytes_of(hex), &options("utf-8", columns)).unwrap_err();
        // The ä of the first header: nine letters come before it, and a quotation mark where all is quoted.
        let place = if line.contains("\talways\t") { 11 } else { 10 };
        assert_eq!(
            problems.to_string(),
            format!("line 1: byte {place} of the file, 0xE4, makes no character in UTF-8")
        );
        assert_eq!(problems.hints(), ["a table saved in an older Windows encoding needs --encoding windows-1252"]);
        seen += 1;
    }
    assert_eq!(seen, 18);
}
