//! Readings that are well formed and are not filed: what is wrong, where, what to do, and that nothing was filed.

use asfound_tests::Workshop;
use insta::assert_snapshot;

#[test]
fn records_of_another_length_than_the_definition_says() {
    let mut shop = Workshop::with_wren();
    shop.rewrite("weeks-later.toml", "short.toml", &[("3D 04 41 82", "3D 04 41")]);
    assert_snapshot!(shop.refused("read wren ./short.toml"), @"
    $ asfound read wren ./short.toml
    --- standard error
    asfound: body record 0D01: 3 bytes, definition aviary-body-1 says 4
    hint: check the bytes, or the module's part number and software: another
          definition may fit
    --- exit code 2
    ");
    shop.rewrite("weeks-later.toml", "long.toml", &[("3D 04 41 82", "3D 04 41 82 00")]);
    assert_snapshot!(shop.refused("read wren ./long.toml"), @"
    $ asfound read wren ./long.toml
    --- standard error
    asfound: body record 0D01: 5 bytes, definition aviary-body-1 says 4
    hint: check the bytes, or the module's part number and software: another
          definition may fit
    --- exit code 2
    ");
}

#[test]
fn values_that_a_setting_cannot_have() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("read wren --value body.lane_change_flashes=8 --partial"), @"
    $ asfound read wren --value body.lane_change_flashes=8 --partial
    --- standard error
    asfound: body.lane_change_flashes = 8: `8` cannot be stored; the largest that
             can is 7
    hint: `asfound explain body.lane_change_flashes` says what it may be
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren --value body.lock_by_horn=loud --partial"), @"
    $ asfound read wren --value body.lock_by_horn=loud --partial
    --- standard error
    asfound: body.lock_by_horn = loud: `loud` is not taken for a switch: write `on`
             or `off`
    hint: `asfound explain body.lock_by_horn` says what it may be
    --- exit code 2
    ");
    // Stored, though not permitted: it was read, so it is kept and remarked.
    assert_snapshot!(shop.run("read wren --value body.lane_change_flashes=7 --partial"), @"
    $ asfound read wren --value body.lane_change_flashes=7 --partial
    wren · entry 3 · reading check · 14 March 2026, 09:55
    ════════════════════════════════════════════════════════════════════════════════
    odometer        –
    supply voltage  –
    taken with      –
    covers          1 module, 1 setting by value; partial
    records         0 same, 1 changed, of those known before

    Differs from the last known state
    SETTING                    AS FOUND   NOW   ACCOUNTED FOR BY
    ──────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3          7     another hand, settings altered

    When another hand was there
      · body: between 14 March 2026, 09:20 (entry 2) and 14 March 2026, 09:55

    Bytes that differ
        body record 0D01
          as found  [13] 03 40 [56]
          as left   [17] 03 40 [5A]

    Not read this time; the last content is kept
    body record 0D01, body record 0D02, module brakes, module cluster

    remark: body.lane_change_flashes: the definition does not permit 7; it is kept
            as it was read

    Filed as entry 3.
    --- exit code 0
    ");
}

#[test]
fn bytes_and_value_that_contradict_each_other() {
    let mut shop = Workshop::with_wren();
    let text = shop.text("weeks-later.toml");
    shop.write(
        "both.toml",
        format!("{text}\n[modules.body.settings]\nlane_change_flashes = 3\nlock_speed = \"20 km/h\"\n"),
    );
    assert_snapshot!(shop.refused("read wren ./both.toml"), @"
    $ asfound read wren ./both.toml
    --- standard error
    asfound: body.lane_change_flashes: the value says 3, byte 0 of record 0D01 says
             5
    hint: read again, and leave out what was not read
    --- exit code 2
    ");
    shop.rewrite("weeks-later.toml", "refused.toml", &[("refused = [\"0C02\"]", "refused = [\"0C02\", \"0C01\"]")]);
    assert_snapshot!(shop.refused("read wren ./refused.toml"), @"
    $ asfound read wren ./refused.toml
    --- standard error
    asfound: cluster record 0C01 is both given and refused
    hint: leave it out of one of the two
    --- exit code 2
    ");
}

#[test]
fn a_reading_of_another_vehicle() {
    let mut shop = Workshop::with_wren();
    shop.rewrite("weeks-later.toml", "tag.toml", &[("vehicle = \"wren\"", "vehicle = \"plover\"")]);
    assert_snapshot!(shop.refused("read wren ./tag.toml"), @"
    $ asfound read wren ./tag.toml
    --- standard error
    asfound: the reading says that it was taken from `plover`, not from `wren`
    hint: file it with `asfound read plover …`
    --- exit code 2
    ");
    shop.rewrite("weeks-later.toml", "vin.toml", &[("vehicle = \"wren\"", "vin = \"ZZ9PLVRA6T2000024\"")]);
    assert_snapshot!(shop.refused("read wren ./vin.toml"), @"
    $ asfound read wren ./vin.toml
    --- standard error
    asfound: the reading has VIN ZZ9PLVRA6T2000024, the journal is about
             ZZ9WRENA9T2000017
    hint: `asfound vehicles` lists the VIN of each
    --- exit code 2
    ");
    shop.rewrite("weeks-later.toml", "letters.toml", &[("vehicle = \"wren\"", "vin = \"ZZ9PLVRA6T2OOOO24\"")]);
    assert_snapshot!(shop.refused("read wren ./letters.toml"), @"
    $ asfound read wren ./letters.toml
    --- standard error
    asfound: ./letters.toml: line 2, column 7: vin: character 12 of the VIN is
             `O`: the letters I, O and Q are not used (perhaps 0)
    --- exit code 2
    ");
}

#[test]
fn an_incomplete_reading_is_filed_only_when_it_is_meant_to_be_partial() {
    let mut shop = Workshop::with_wren();
    let text = shop.text("weeks-later.toml");
    let at = text.find("[modules.cluster]").unwrap();
    let without_cluster = text[..at].replace(", 0D02 = \"02 51 01\"", "");
    shop.write("part.toml", without_cluster);
    assert_snapshot!(shop.refused("read wren ./part.toml"), @"
    $ asfound read wren ./part.toml
    --- standard error
    asfound: the reading is incomplete: earlier readings also had body record 0D02,
             module cluster
    hint: read the rest too, or say `--partial` to file what there is; the rest
          keeps its last content
    --- exit code 3
    ");
    assert_snapshot!(shop.run("read wren ./part.toml --partial"), @"
    $ asfound read wren ./part.toml --partial
    wren · entry 3 · reading check · 20 April 2026, 16:40
    ════════════════════════════════════════════════════════════════════════════════
    odometer        85977 km
    supply voltage  12.4 V
    taken with      bench reader
    covers          2 modules, 2 records; partial
    records         1 same, 1 changed, of those known before

    Differs from the last known state
    SETTING                     AS FOUND      NOW           ACCOUNTED FOR BY
    ────────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes    3             5             another hand, settings
                                                            altered
    body.lock_at_speed          off           on            another hand, settings
                                                            altered
    body.lock_by_horn           off           on            another hand, settings
                                                            altered
    body.lock_speed             15 km/h       20 km/h       another hand, settings
                                                            altered
    body:0D01 byte 2 bit 0: 0   13 03 40 56   3D 04 41 82   cannot tell: setting or
    to 1                                                    measured value

    When another hand was there
      · body: between 14 March 2026 (entry 2) and 20 April 2026, 84210 km and 85977
        km

    Bytes that differ
        body record 0D01; undeclared: byte 2 bit 0: 0 to 1
          as found  [13 03 40 56]
          as left   [3D 04 41 82]

    Cannot tell: 1 bit in 1 record differs, and may be settings or measured values.

    Not read this time; the last content is kept
    body record 0D02, module cluster

    remark: its moment lies in the future: it is filed 14 March 2026, 09:45

    Filed as entry 3.
    --- exit code 0
    ");
}

#[test]
fn two_definitions_that_both_fit() {
    let mut shop = Workshop::with_wren();
    shop.rewrite("cluster-1.toml", "cluster-2.toml", &[("aviary-cluster-1", "aviary-cluster-2")]);
    assert_snapshot!(shop.run("definition check ./cluster-1.toml ./cluster-2.toml"), @"
    $ asfound definition check ./cluster-1.toml ./cluster-2.toml
    ./cluster-2.toml: warning: line 6, column 1: applies_to: the definition
    `aviary-cluster-1` fits exactly the same modules
      · hint: where both fit, neither explains the module: narrow one of them

    2 files: 0 errors, 1 warning.
    --- exit code 0
    ");
    assert_snapshot!(shop.refused("definition keep ./cluster-2.toml"), @"
    $ asfound definition keep ./cluster-2.toml
    --- standard error
    asfound: `aviary-cluster-2` cannot be kept: the definition `aviary-cluster-1`
             fits exactly the same modules
    hint: narrow `applies_to` in one of them, or give the new one the other's id to
          take its place
    --- exit code 3
    ");
    assert!(!shop.garage().join("definitions/aviary-cluster-2.toml").exists());
    // Put there by hand, it keeps nothing from being filed: the bytes are kept, and nobody explains them.
    shop.write("garage/definitions/aviary-cluster-2.toml", shop.text("cluster-2.toml"));
    let said = "several definitions fit cluster (aviary-cluster-1, aviary-cluster-2): what it said is kept as it is";
    let read = shop.run("read wren ./weeks-later.toml").done();
    assert!(read.flat().contains(said), "{read}");
    let settings = shop.run("settings wren").done();
    assert!(
        settings.flat().contains("Several definitions fit cluster (aviary-cluster-1, aviary-cluster-2)"),
        "{settings}"
    );
    // The same before anything is known of the module.
    let _ = shop.run("enrol plover").done();
    shop.rewrite("weeks-later.toml", "plover.toml", &[("vehicle = \"wren\"", "vehicle = \"plover\"")]);
    let read = shop.run("read plover ./plover.toml").done();
    assert!(read.flat().contains(said), "{read}");
}

#[test]
fn what_file_and_command_line_say_of_one_matter() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("read wren ./weeks-later.toml --odometer 1"), @"
    $ asfound read wren ./weeks-later.toml --odometer 1
    --- standard error
    asfound: the odometer: the files say 85977, the command line says 1
    hint: leave it out of the command line, or put the file right
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren ./weeks-later.toml --taken 14.3.2026"), @r#"
    $ asfound read wren ./weeks-later.toml --taken 14.3.2026
    --- standard error
    asfound: invalid time `14.3.2026` (expected 2026-03-14, "2026-03-14 09:20" or
             2026-03-14T09:20:00+01:00)
    --- exit code 2
    "#);
    assert_snapshot!(shop.refused("read wren ./weeks-later.toml --as sold"), @"
    $ asfound read wren ./weeks-later.toml --as sold
    --- standard error
    error: invalid value 'sold' for '--as <ROLE>': invalid role `sold` (expected found, left or check)

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("read wren --value body.lock_by_horn=on --value body.lock_by_horn=off --partial"), @"
    $ asfound read wren --value body.lock_by_horn=on --value body.lock_by_horn=off --partial
    --- standard error
    asfound: body.lock_by_horn is given twice and differs
    --- exit code 2
    ");
}
