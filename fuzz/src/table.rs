//! Tables.

use asfound_capture::merge::reading_of_table;
use asfound_capture::table::{MOST_PROBLEMS, RowContent, TableOptions, TableReading, parse_table};

use crate::messages::harmless;

/// A first line `separator/encoding/module/columns`, of which any may be empty, and then the file.
pub fn table(data: &[u8]) {
    let end = data.iter().position(|byte| *byte == b'\n').unwrap_or(data.len());
    let (Ok(head), file) = (std::str::from_utf8(&data[..end]), data.get(end + 1..).unwrap_or_default()) else { return };
    let mut parts = head.splitn(4, '/');
    let mut part = || parts.next().unwrap_or_default();
    let options = TableOptions {
        separator: part().parse().ok(),
        encoding: part().parse().ok(),
        module: part().parse().ok(),
        columns: part().parse().ok(),
    };
    match parse_table(file, &options) {
        Ok(reading) => accepted(reading, file, &options),
        Err(problems) => {
            assert!((1..=MOST_PROBLEMS).contains(&problems.kept().len()));
            assert_eq!(problems.total(), problems.kept().len() + problems.more());
            harmless(&problems);
            problems.hints().into_iter().for_each(harmless);
        }
    }
}

fn accepted(reading: TableReading, file: &[u8], options: &TableOptions) {
    for row in &reading.rows {
        assert!(row.line > 0 && row.line <= file.len());
        match &row.what {
            RowContent::Setting { setting, value } => {
                assert!(!value.is_empty() && value.trim() == value, "the value {value:?} is not trimmed");
                assert!(!setting.as_str().is_empty());
            }
            RowContent::Record { bytes, .. } => assert!(!bytes.is_empty()),
            RowContent::TroubleCode { code, .. } => assert!(!code.is_empty()),
            RowContent::Identity(identity) => assert_ne!(*identity, asfound_capture::table::TableIdentity::default()),
        }
    }
    // What was found out, said beforehand, gives the same.
    let said = TableOptions {
        columns: Some(reading.columns.clone()),
        separator: Some(reading.separator),
        encoding: Some(reading.encoding),
        module: options.module.clone(),
    };
    assert_eq!(parse_table(file, &said).as_ref(), Ok(&reading));
    if let Err(error) = reading_of_table(reading, |_, _, _| None) {
        harmless(error);
    }
}
