//! Reading files that cannot be read as they are.

use asfound_tests::Workshop;
use insta::assert_snapshot;

#[test]
fn files_that_are_no_readings() {
    let mut shop = Workshop::with_wren();
    shop.write("empty.toml", "");
    assert_snapshot!(shop.refused("read wren ./empty.toml"), @"
    $ asfound read wren ./empty.toml
    --- standard error
    asfound: ./empty.toml: the file is empty
    --- exit code 2
    ");
    shop.write("empty.json", "\n \n");
    assert_snapshot!(shop.refused("read wren ./empty.json"), @"
    $ asfound read wren ./empty.json
    --- standard error
    asfound: ./empty.json: the file is empty
    --- exit code 2
    ");
    shop.write("binary.toml", b"\x7fELF\x02\x01\x01\x00\x00\x00");
    assert_snapshot!(shop.refused("read wren ./binary.toml"), @"
    $ asfound read wren ./binary.toml
    --- standard error
    asfound: ./binary.toml: the file is binary, not text: its byte 8 is zero
    --- exit code 2
    ");
    shop.write("latin.toml", b"format = \"asfound-reading/1\"\nby = \"J\xf6run\"\n");
    assert_snapshot!(shop.refused("read wren ./latin.toml"), @"
    $ asfound read wren ./latin.toml
    --- standard error
    asfound: ./latin.toml: line 2, column 8: byte F6 is not UTF-8 text (byte 37
             of the file)
    hint: save the file as UTF-8 and try again
    --- exit code 2
    ");
    shop.write("broken.toml", "format = \"asfound-reading/1\"\n[modules.body\n");
    assert_snapshot!(shop.refused("read wren ./broken.toml"), @"
    $ asfound read wren ./broken.toml
    --- standard error
    asfound: ./broken.toml: line 2, column 14: not well-formed TOML: unclosed
             table, expected `]`
    --- exit code 2
    ");
    shop.write("broken.json", "{ \"format\": \"asfound-reading/1\",\n  \"modules\": { \"body\": }\n}\n");
    assert_snapshot!(shop.refused("read wren ./broken.json"), @"
    $ asfound read wren ./broken.json
    --- standard error
    asfound: ./broken.json: line 2, column 24: not well-formed JSON: unexpected
             close brace
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren ./not-there.toml"), @"
    $ asfound read wren ./not-there.toml
    --- standard error
    asfound: ./not-there.toml: No such file or directory (os error 2)
    hint: check the name of the file
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren ./garage"), @"
    $ asfound read wren ./garage
    --- standard error
    asfound: ./garage: Is a directory (os error 21)
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren"), @"
    $ asfound read wren
    --- standard error
    asfound: there is nothing to read
    hint: name a file, type values with `--value`, or read the car with `--from`
    --- exit code 2
    ");
}

#[test]
fn forms_that_this_program_does_not_read() {
    let mut shop = Workshop::with_wren();
    shop.rewrite("weeks-later.toml", "next.toml", &[("asfound-reading/1", "asfound-reading/2")]);
    assert_snapshot!(shop.refused("read wren ./next.toml"), @"
    $ asfound read wren ./next.toml
    --- standard error
    asfound: ./next.toml: line 1, column 10: format: the format
             `asfound-reading/2` is of another version, this program reads
             `asfound-reading/1`
    --- exit code 2
    ");
    shop.rewrite("weeks-later.toml", "other.toml", &[("asfound-reading/1", "something-else/1")]);
    assert_snapshot!(shop.refused("read wren ./other.toml"), @r#"
    $ asfound read wren ./other.toml
    --- standard error
    asfound: ./other.toml: line 1, column 10: format: invalid format
             `something-else/1`: a reading says format = "asfound-reading/1"
    --- exit code 2
    "#);
    assert_snapshot!(shop.refused("read wren ./body-1.toml"), @r#"
    $ asfound read wren ./body-1.toml
    --- standard error
    asfound: ./body-1.toml: line 1, column 1: the key `modules` is missing
    ./body-1.toml: line 1, column 10: format: invalid format
      `asfound-definition/1`: a reading says format = "asfound-reading/1"
    ./body-1.toml: line 2, column 1: id: the key `id` is not known
    ./body-1.toml: line 3, column 1: title: the key `title` is not known
    ./body-1.toml: line 4, column 1: source: the key `source` is not known
    ./body-1.toml: line 5, column 1: cautions: the key `cautions` is not known
    ./body-1.toml: line 7, column 2: applies_to: the key `applies_to` is not
      known
    ./body-1.toml: line 12, column 2: records: the key `records` is not known
    ./body-1.toml: line 22, column 2: settings: the key `settings` is not known
    ./body-1.toml: line 88, column 3: rules: the key `rules` is not known
    hint: known here: format, vehicle, vin, taken, by, tool, odometer_km,
          supply_voltage, engine, ignition, did_not_answer, modules
    --- exit code 2
    "#);
    shop.rewrite("weeks-later.toml", "unknown.toml", &[("odometer_km", "odometer"), ("serial =", "serials =")]);
    assert_snapshot!(shop.refused("read wren ./unknown.toml"), @"
    $ asfound read wren ./unknown.toml
    --- standard error
    asfound: ./unknown.toml: line 6, column 1: odometer: the key `odometer` is
             not known
    ./unknown.toml: line 14, column 1: modules.body.serials: the key `serials` is
      not known
    hint: did you mean `odometer_km`?
    --- exit code 2
    ");
}

#[test]
fn modules_given_twice() {
    let mut shop = Workshop::with_wren();
    shop.rewrite("weeks-later.toml", "twice.toml", &[("[modules.cluster]", "[modules.body]")]);
    assert_snapshot!(shop.refused("read wren ./twice.toml"), @"
    $ asfound read wren ./twice.toml
    --- standard error
    asfound: ./twice.toml: line 23, column 10: not well-formed TOML: duplicate
             key
    ./twice.toml: line 24, column 1: not well-formed TOML: duplicate key
    ./twice.toml: line 25, column 1: not well-formed TOML: duplicate key
    ./twice.toml: line 26, column 1: not well-formed TOML: duplicate key
    --- exit code 2
    ");
    let twice = r#"{
  "format": "asfound-reading/1",
  "modules": {
    "body": { "records": { "0D01": "13 03 40 56" } },
    "body": { "records": { "0D02": "00 17 01" } }
  }
}"#;
    shop.write("twice.json", twice);
    assert_snapshot!(shop.refused("read wren ./twice.json"), @"
    $ asfound read wren ./twice.json
    --- standard error
    asfound: ./twice.json: line 5, column 5: modules.body: the key `body` is
             already there at line 4, column 5
    --- exit code 2
    ");
    // Two files may well tell of one module, but not differently of one record.
    shop.rewrite("weeks-later.toml", "second.toml", &[("02 51 01", "02 51 02")]);
    assert_snapshot!(shop.refused("read wren ./weeks-later.toml ./second.toml"), @"
    $ asfound read wren ./weeks-later.toml ./second.toml
    --- standard error
    asfound: ./second.toml: body record 0D02 is given twice and differs: 02 51 01
             and 02 51 02
    --- exit code 2
    ");
}

#[test]
fn bytes_that_are_none() {
    let mut shop = Workshop::with_wren();
    shop.rewrite("weeks-later.toml", "odd.toml", &[("3D 04 41 82", "3D 04 41 8")]);
    assert_snapshot!(shop.refused("read wren ./odd.toml"), @"
    $ asfound read wren ./odd.toml
    --- standard error
    asfound: ./odd.toml: line 15, column 20: modules.body.records.0D01: odd
             number of hexadecimal digits in `8`: two digits make a byte
    --- exit code 2
    ");
    shop.rewrite("weeks-later.toml", "letters.toml", &[("3D 04 41 82", "3D 0G 41 82"), ("0x0E", "fourteen")]);
    assert_snapshot!(shop.refused("read wren ./letters.toml"), @"
    $ asfound read wren ./letters.toml
    --- standard error
    asfound: ./letters.toml: line 10, column 11: modules.body.address: invalid
             diagnostic address `fourteen` (expected hexadecimal, as in 0x0E or
             0x18DA10F1)
    ./letters.toml: line 15, column 20: modules.body.records.0D01: invalid
      hexadecimal digit `G`
    --- exit code 2
    ");
    shop.rewrite("weeks-later.toml", "none.toml", &[("3D 04 41 82", "")]);
    assert_snapshot!(shop.refused("read wren ./none.toml"), @"
    $ asfound read wren ./none.toml
    --- standard error
    asfound: ./none.toml: line 15, column 20: modules.body.records.0D01: the
             record has no bytes
    hint: a record that the module would not give belongs under `refused`
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren --value body:0D01='3D 0' --partial"), @"
    $ asfound read wren --value body:0D01='3D 0' --partial
    --- standard error
    asfound: body:0D01: odd number of hexadecimal digits in `0`: two digits make a
             byte
    --- exit code 2
    ");
}
