//! Whatever is thrown at the table reader: no panic, and no cell that reads back as another.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use asfound_capture::table::{
    ColumnKey, RowContent, SavedColumns, Separator, TableEncoding, TableOptions, TableProblems, parse_table,
};
use csv::{QuoteStyle, Terminator, WriterBuilder};
use proptest::prelude::*;

fn mapping() -> impl Strategy<Value = Option<&'static str>> {
    prop_oneof![
        Just(None),
        Just(Some("module=#1,setting=#2,value=#3")),
        Just(Some("module=#1,record=#2,bytes=#3")),
        Just(Some("setting=#1,value=#2")),
        Just(Some("module=#1,serial=#2,trouble_code=#3")),
    ]
}

fn encoding() -> impl Strategy<Value = Option<&'static str>> {
    proptest::option::of(prop_oneof![
        Just("utf-8"),
        Just("utf-16le"),
        Just("windows-1252"),
        Just("shift_jis"),
        Just("gb18030"),
    ])
}

/// Bytes that often come near a table.
fn bytes() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop_oneof![
        Just(&b"module,setting,value,record,bytes\n"[..]),
        Just(&b"\xEF\xBB\xBF"[..]),
        Just(&b"\xFF\xFE"[..]),
        Just(&b"\xFE\xFF"[..]),
        Just(&b"body"[..]),
        Just(&b"0x0D01"[..]),
        Just(&b","[..]),
        Just(&b";"[..]),
        Just(&b"\t"[..]),
        Just(&b"\""[..]),
        Just(&b"\r"[..]),
        Just(&b"\n"[..]),
        Just(&b"\xC3\xA4"[..]),
        Just(&b"\xE4"[..]),
        Just(&b"\0"[..]),
    ];
    prop_oneof![
        proptest::collection::vec(any::<u8>(), 0..200),
        proptest::collection::vec(piece, 0..40).prop_map(|pieces| pieces.concat()),
    ]
}

fn check(bytes: &[u8], options: &TableOptions) -> Result<(), TestCaseError> {
    match parse_table(bytes, options) {
        Ok(reading) => {
            let lines = bytes.len() + 1;
            prop_assert!(reading.rows.iter().all(|row| (2..=lines).contains(&row.line)));
        }
        Err(problems) => {
            prop_assert!(!problems.kept().is_empty());
            prop_assert!(!problems.to_string().chars().any(|c| c.is_control() && c != '\n'));
            let _ = problems.hints();
        }
    }
    Ok(())
}

fn separators() -> impl Strategy<Value = Separator> {
    prop_oneof![Just(Separator::COMMA), Just(Separator::SEMICOLON), Just(Separator::TAB)]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn never_panics(
        bytes in bytes(),
        columns in mapping(),
        encoding in encoding(),
        separator in proptest::option::of(separators()),
        fixed in any::<bool>(),
    ) {
        let options = TableOptions {
            columns: columns.map(|text| text.parse().unwrap()),
            separator,
            encoding: encoding.map(|label| label.parse::<TableEncoding>().unwrap()),
            module: fixed.then(|| "body".parse().unwrap()),
        };
        check(&bytes, &options)?;
    }

    #[test]
    fn saved_columns_never_panic(text in "\\PC*|(format = \"asfound-columns/1\"\n)?(\\[columns\\]\n)?[a-z_=\"#1, \n]{0,40}") {
        let _ = SavedColumns::from_toml(&text);
    }
}

/// A cell that holds something, in which the awkward characters are common.
fn cell() -> impl Strategy<Value = String> {
    prop_oneof!["[a\",;\t\r\n é–]{1,10}", "\\PC{1,20}", "[ -~]{1,20}"]
        .prop_filter("an empty value is left out", |text| !text.trim().is_empty())
}

proptest! {
    /// A table written by the CSV writer says what was written, to the cell and the line.
    #[test]
    fn a_written_table_says_what_was_written(
        cells in proptest::collection::vec((cell(), cell()), 1..8),
        header in cell(),
        separator in separators(),
        end in prop_oneof![Just(Terminator::CRLF), Just(Terminator::Any(b'\n')), Just(Terminator::Any(b'\r'))],
        style in prop_oneof![Just(QuoteStyle::Necessary), Just(QuoteStyle::Always)],
        mark in any::<bool>(),
    ) {
        let mut writer = WriterBuilder::new()
            .delimiter(separator.byte())
            .terminator(end)
            .quote_style(style)
            .from_writer(if mark { b"\xEF\xBB\xBF".to_vec() } else { Vec::new() });
        writer.write_record(["number", "status text", header.as_str()]).unwrap();
        for (index, (status, value)) in cells.iter().enumerate() {
            writer.write_record([&format!("C{index}"), status, value]).unwrap();
        }
        let bytes = writer.into_inner().unwrap();
        let options = TableOptions {
            columns: Some("trouble_code=number,status=status text,serial=#3".parse().unwrap()),
            separator: Some(separator),
            module: Some("body".parse().unwrap()),
            ..TableOptions::default()
        };
        // The third column says one serial number after the other, so that the first row alone agrees with itself.
        let contradictions = cells.iter().filter(|(_, value)| value.trim() != cells[0].1.trim()).count();
        match parse_table(&bytes, &options) {
            Err(problems) => prop_assert_eq!(problems.total(), contradictions, "{}", problems),
            Ok(reading) => {
                prop_assert_eq!(contradictions, 0);
                prop_assert!(matches!(
                    &reading.rows[0].what,
                    RowContent::Identity(identity) if identity.serial.as_deref() == Some(cells[0].1.trim())
                ));
            }
        }

        let only_codes = TableOptions {
            columns: Some("trouble_code=#1,status=#2".parse().unwrap()),
            ..options
        };
        let reading = parse_table(&bytes, &only_codes).map_err(|problems: TableProblems| {
            TestCaseError::fail(problems.to_string())
        })?;
        let read: Vec<_> = reading.rows.iter().map(|row| row.what.clone()).collect();
        let written: Vec<_> = cells
            .iter()
            .enumerate()
            .map(|(index, (status, _))| RowContent::TroubleCode {
                code: format!("C{index}"),
                status: Some(status.trim().to_owned()),
            })
            .collect();
        prop_assert_eq!(read, written);
        prop_assert!(reading.columns.place(ColumnKey::Serial).is_none());
    }
}
