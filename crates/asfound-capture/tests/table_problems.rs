//! What is wrong with tables: all of it at once, each with its place.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use asfound_capture::table::{MOST_PROBLEMS, Separator, TableOptions, TableProblems, parse_table};

fn problems(text: &str, columns: Option<&str>) -> TableProblems {
    let options = TableOptions { columns: columns.map(|text| text.parse().unwrap()), ..TableOptions::default() };
    parse_table(text.as_bytes(), &options).unwrap_err()
}

fn shown(text: &str, columns: Option<&str>) -> Vec<String> {
    problems(text, columns).to_string().lines().map(str::to_owned).collect()
}

#[test]
fn everything_at_once_with_line_and_column() {
    let text = "ECU,DID,Raw data\r\n\
                body,0D01,03 0F\r\n\
                body,100,03 0\r\n\
                ,0D02,00\r\n\
                body,0D03\r\n\
                –,0D04,-\r\n\
                body,,00\r\n\
                body,0D01,03 0E\r\n";
    assert_eq!(
        shown(text, Some("module=ECU,record=DID,bytes=Raw data")),
        [
            "line 3, column `DID`: invalid record `100`",
            "line 3, column `Raw data`: invalid bytes `03 0`: odd number of hexadecimal digits in `0`: two digits make a byte",
            "line 4, column `ECU`: the cell is empty, so nothing says which module the line is about",
            "line 5: 2 cells where the header line has 3",
            "line 6, column `ECU`: `–` gives no module name: it has no letter or digit, or too many of them",
            "line 6, column `Raw data`: `-` holds no bytes",
            "line 7, column `DID`: the cell is empty, although there is text in the column for `bytes`",
            "line 8, column `Raw data`: `0D01` of `body` is `03 0F` on line 2 and `03 0E` here",
        ]
    );
}

#[test]
fn many_problems_are_counted() {
    let text = format!("setting,value\n{}", "a,b,c\n".repeat(33));
    let problems = problems(&text, None);
    assert_eq!((problems.kept().len(), problems.more(), problems.total()), (MOST_PROBLEMS, 13, 33));
    let shown = problems.to_string();
    assert!(shown.starts_with("line 2: 3 cells where the header line has 2\nline 3: "), "{shown}");
    assert!(shown.ends_with("\nand 13 more"), "{shown}");
    assert_eq!(problems.hints().len(), 1);
}

#[test]
fn contradictions_name_both_lines() {
    let table = |rows: &str| format!("module,setting,value,serial,trouble_code,status\n{rows}");
    for (rows, message) in [
        (
            "body,lock_tone,low,,,\nbody,lock_tone,high,,,\n",
            "line 3, column `value`: `lock_tone` of `body` is `low` on line 2 and `high` here",
        ),
        (
            "body,Lock tone,low,,,\nbody,LOCK  tone,high,,,\n",
            "line 3, column `value`: `LOCK  tone` of `body` is `low` on line 2 and `high` here",
        ),
        (
            "body,Wiper +,on,,,\nbody,Wiper -,on,,,\n",
            "line 3, column `value`: `Wiper -` comes to the same name as `Wiper +` on line 2",
        ),
        (
            "body,施錠,on,,,\nbody,施錠,off,,,\n",
            "line 3, column `value`: `施錠` of `body` is `on` on line 2 and `off` here",
        ),
        (
            "body,,,S-1,,\nbody,,,S-2,,\n",
            "line 3, column `serial`: `serial` of `body` is `S-1` on line 2 and `S-2` here",
        ),
        (
            "body,,,,B16A1,2F\nbody,,,,b16a1,08\n",
            "line 3, column `trouble_code`: `b16a1` of `body` is `2F` on line 2 and `08` here",
        ),
    ] {
        assert_eq!(shown(&table(rows), None), [message]);
    }
    // The same setting of another module is another setting, and another label another setting.
    let options = TableOptions::default();
    let rows = table("body,lock_tone,low,,,\ncluster,lock_tone,high,,,\nbody,施錠,on,,,\nbody,灯,off,,,\n");
    assert_eq!(parse_table(rows.as_bytes(), &options).unwrap().rows.len(), 4);
}

#[test]
fn rows_of_another_module_are_not_filed_under_this_one() {
    let options = TableOptions { module: Some("body".parse().unwrap()), ..TableOptions::default() };
    let problems = parse_table(b"setting,value\nbrakes.hold,on\n", &options).unwrap_err();
    assert_eq!(
        problems.to_string(),
        "line 2, column `setting`: `brakes.hold` names another module than its row, which is about `body`"
    );
    assert_eq!(
        shown("setting,value\nLock tone,low\n", None),
        ["line 2, column `setting`: `Lock tone` does not say which module it belongs to"]
    );
}

#[test]
fn separators_marks_and_headers_come_first() {
    assert_eq!(
        shown("\n\nsetting|value\na|b\n", None),
        ["line 3: the header line has no comma, semicolon or tab, so the columns cannot be told apart"]
    );
    assert_eq!(
        shown("setting,value\n\nbody.a,\"5\nbody.b,6\n", None),
        ["line 3: a quotation mark opens a cell that is never closed"]
    );
    assert_eq!(
        shown("setting,value\nbody.a,\"5\" mm\n", None),
        ["line 2: a cell goes on after its closing quotation mark"]
    );
    let unmapped = problems("Control unit;Name;Now\nbody;a;1\n", None);
    assert_eq!(
        unmapped.to_string(),
        "line 1: no column mapping is given, and the headers do not make one: `Control unit`, `Name`, `Now`"
    );
    assert_eq!(
        unmapped.hints(),
        ["say which column holds what, for example: --columns \"module=Control unit,setting=Name,value=Now\""]
    );
}

#[test]
fn a_given_separator_is_taken() {
    let options = TableOptions { separator: Some("|".parse().unwrap()), ..TableOptions::default() };
    assert_eq!(parse_table(b"setting|value\nbody.a|1,2\n", &options).unwrap().rows.len(), 1);
    assert_eq!(parse_table(b"||\n ||\n", &options).unwrap_err().to_string(), "the file is empty");
    // One column needs no separator; any will do.
    let options = TableOptions {
        separator: Some(Separator::COMMA),
        module: Some("body".parse().unwrap()),
        ..TableOptions::default()
    };
    assert_eq!(parse_table(b"trouble_code\nB16A1\n", &options).unwrap().rows.len(), 1);
}

#[test]
fn files_that_are_no_tables() {
    for (bytes, message) in [
        (&b""[..], "the file is empty"),
        (b"\xEF\xBB\xBF\r\n \r\n", "the file is empty"),
        (b"PK\x03\x04\0\0\x08\0", "the file is not text: it holds zero bytes, as workbooks, pictures and programs do"),
        (b"setting,value\nbody.a,\xFF\n", "line 2: byte 22 of the file, 0xFF, makes no character in UTF-8"),
    ] {
        assert_eq!(parse_table(bytes, &TableOptions::default()).unwrap_err().to_string(), message);
    }
}

#[test]
fn messages_hold_no_control_characters() {
    let problems = problems("module,record,bytes\nbody,\"\u{1b}[2J\n\",\u{7}\n", None);
    assert_eq!(problems.total(), 2);
    for line in problems.to_string().lines() {
        assert!(!line.chars().any(char::is_control), "{line:?}");
    }
}
