//! Tables that cannot be read as they are, and one that can.

use asfound_tests::Workshop;
use insta::assert_snapshot;

const MAPPING: &str = "module=Unit,setting=Name,value=Reading";

#[test]
fn files_that_are_no_tables() {
    let mut shop = Workshop::with_wren();
    shop.write("empty.csv", "");
    assert_snapshot!(shop.refused("read wren ./empty.csv"), @"
    $ asfound read wren ./empty.csv
    --- standard error
    asfound: ./empty.csv: the file is empty
    --- exit code 2
    ");
    shop.write("binary.csv", b"PK\x03\x04\x14\x00\x00\x00");
    assert_snapshot!(shop.refused("read wren ./binary.csv"), @"
    $ asfound read wren ./binary.csv
    --- standard error
    asfound: ./binary.csv: the file is not text: it holds zero bytes, as
             workbooks, pictures and programs do
    hint: save the table as CSV or tab-separated text; for UTF-16 without a
          byte-order mark add --encoding utf-16le
    --- exit code 2
    ");
    shop.write("latin.csv", b"Unit;Name;Reading\nbody;Verz\xf6gerung;3\n");
    assert_snapshot!(shop.refused("read wren ./latin.csv"), @"
    $ asfound read wren ./latin.csv
    --- standard error
    asfound: ./latin.csv: line 2: byte 28 of the file, 0xF6, makes no character
             in UTF-8
    hint: a table saved in an older Windows encoding needs --encoding windows-1252
    --- exit code 2
    ");
}

#[test]
fn columns_that_are_not_told() {
    let mut shop = Workshop::with_wren();
    shop.write("export.csv", "Unit;Name;Reading\r\nbody;lane_change_flashes;5\r\n");
    assert_snapshot!(shop.refused("read wren ./export.csv --partial"), @"
    $ asfound read wren ./export.csv --partial
    --- standard error
    asfound: ./export.csv: line 1: no column mapping is given, and the headers do
             not make one: `Unit`, `Name`, `Reading`
    hint: say which column holds what, for example: --columns
          module=Unit,setting=Name,value=Reading
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren ./export.csv --partial --columns module=Unit,setting=Nam,value=Reading"), @"
    $ asfound read wren ./export.csv --partial --columns module=Unit,setting=Nam,value=Reading
    --- standard error
    asfound: ./export.csv: line 1: there is no column `Nam` for `setting`; the
             headers are `Unit`, `Name`, `Reading`
    hint: did you mean `Name`?
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren ./export.csv --partial --columns module=Unit,setting=Name"), @"
    $ asfound read wren ./export.csv --partial --columns module=Unit,setting=Name
    --- standard error
    error: invalid value 'module=Unit,setting=Name' for '--columns <MAPPING>': a column for `setting` makes no sense without one for `value`

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren ./export.csv --partial --columns modul=Unit"), @"
    $ asfound read wren ./export.csv --partial --columns modul=Unit
    --- standard error
    error: invalid value 'modul=Unit' for '--columns <MAPPING>': `modul` is nothing a column can hold; did you mean `module`?

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren ./export.csv --partial --columns-of bench"), @"
    $ asfound read wren ./export.csv --partial --columns-of bench
    --- standard error
    asfound: no column mapping is kept under the name `bench`
    hint: keep one with `--columns MAPPING --columns-as NAME`
    --- exit code 2
    ");
}

#[test]
fn rows_that_do_not_fit() {
    let mut shop = Workshop::with_wren();
    shop.write("ragged.csv", "Unit;Name;Reading\nbody;lane_change_flashes;5\nbody;lock_by_horn\n");
    assert_snapshot!(shop.refused(&format!("read wren ./ragged.csv --partial --columns {MAPPING}")), @"
    $ asfound read wren ./ragged.csv --partial --columns module=Unit,setting=Name,value=Reading
    --- standard error
    asfound: ./ragged.csv: line 3: 2 cells where the header line has 3
    hint: a cell that holds the separator stands between quotation marks, with no
          space before them
    --- exit code 2
    ");
    shop.write("twice.csv", "Unit;Name;Reading\nbody;lane_change_flashes;5\nbody;lane_change_flashes;4\n");
    assert_snapshot!(shop.refused(&format!("read wren ./twice.csv --partial --columns {MAPPING}")), @"
    $ asfound read wren ./twice.csv --partial --columns module=Unit,setting=Name,value=Reading
    --- standard error
    asfound: ./twice.csv: line 3, column `Reading`: `lane_change_flashes` of
             `body` is `5` on line 2 and `4` here
    hint: keep the line that is right
    --- exit code 2
    ");
    shop.write("value.csv", "Unit;Name;Reading\nbody;lane_change_flashes;9\n");
    assert_snapshot!(shop.refused(&format!("read wren ./value.csv --partial --columns {MAPPING}")), @"
    $ asfound read wren ./value.csv --partial --columns module=Unit,setting=Name,value=Reading
    --- standard error
    asfound: body.lane_change_flashes = 9: `9` cannot be stored; the largest that
             can is 7
    hint: `asfound explain body.lane_change_flashes` says what it may be
    --- exit code 2
    ");
    shop.write("odd.csv", "Unit;Block;Bytes\nbody;0D01;13 03 40 5\n");
    assert_snapshot!(shop.refused("read wren ./odd.csv --partial --columns module=Unit,record=Block,bytes=Bytes"), @"
    $ asfound read wren ./odd.csv --partial --columns module=Unit,record=Block,bytes=Bytes
    --- standard error
    asfound: ./odd.csv: line 2, column `Bytes`: invalid bytes `13 03 40 5`: odd
             number of hexadecimal digits in `5`: two digits make a byte
    hint: two hexadecimal digits make a byte, as in 03 0F 85 (a spreadsheet changes
          cells that are not text)
    --- exit code 2
    ");
}

#[test]
fn a_mapping_is_kept_for_next_time() {
    let mut shop = Workshop::with_wren();
    shop.write("export.csv", "\u{feff}Unit;Name;Reading\r\nbody;lane_change_flashes;5\r\nbody;Lock at speed;on\r\n");
    // A reading that is refused keeps no mapping.
    let _ = shop.refused(&format!("read wren ./export.csv --columns {MAPPING} --columns-as bench"));
    let _ = shop.refused("read wren ./export.csv --partial --columns-of bench");
    assert_snapshot!(shop.run(&format!("read wren ./export.csv --partial --columns {MAPPING} --columns-as bench")), @"
    $ asfound read wren ./export.csv --partial --columns module=Unit,setting=Name,value=Reading --columns-as bench
    wren · entry 3 · reading check · 14 March 2026, 09:55
    ════════════════════════════════════════════════════════════════════════════════
    odometer        –
    supply voltage  –
    taken with      –
    covers          1 module, 2 settings by value; partial
    table           ./export.csv: 2 rows, semicolon as separator
    records         0 same, 1 changed, of those known before

    Differs from the last known state
    SETTING                    AS FOUND   NOW   ACCOUNTED FOR BY
    ──────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3          5     another hand, settings altered
    body.lock_at_speed         off        on    another hand, settings altered

    When another hand was there
      · body: between 14 March 2026, 09:20 (entry 2) and 14 March 2026, 09:55

    Bytes that differ
        body record 0D01
          as found  [13] 03 40 [56]
          as left   [35] 03 40 [78]

    Not read this time; the last content is kept
    body record 0D01, body record 0D02, module brakes, module cluster

    Filed as entry 3.
    --- exit code 0
    ");
    shop.write("again.csv", "Unit;Name;Reading\r\nbody;lane_change_flashes;3\r\nbody;Lock at speed;off\r\n");
    assert_snapshot!(shop.run("read wren ./again.csv --partial --columns-of bench"), @"
    $ asfound read wren ./again.csv --partial --columns-of bench
    wren · entry 4 · reading check · 14 March 2026, 10:05
    ════════════════════════════════════════════════════════════════════════════════
    odometer        –
    supply voltage  –
    taken with      –
    covers          1 module, 2 settings by value; partial
    table           ./again.csv: 2 rows, semicolon as separator
    records         0 same, 1 changed, of those known before

    Differs from the last known state
    SETTING                    AS FOUND   NOW   ACCOUNTED FOR BY
    ──────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   5          3     another hand, settings altered
    body.lock_at_speed         on         off   another hand, settings altered

    When another hand was there
      · body: between 14 March 2026, 09:55 (entry 3) and 14 March 2026, 10:05

    Bytes that differ
        body record 0D01
          as found  [35] 03 40 [78]
          as left   [13] 03 40 [56]

    Not read this time; the last content is kept
    body record 0D01, body record 0D02, module brakes, module cluster

    Filed as entry 4.
    --- exit code 0
    ");
}
