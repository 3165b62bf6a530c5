//! Changes of every kind that go through: by name, by bytes, with a value as found that only the user can tell, at
//! another time than now.

use asfound_tests::json::{Entry, ReadingFiled, Settings};
use asfound_tests::{Workshop, plain_git};
use insta::assert_snapshot;

#[test]
fn a_record_is_changed_by_its_bytes() {
    let mut shop = Workshop::with_wren();
    // The last byte is the checksum: it is computed, whatever was given.
    assert_snapshot!(shop.run("change wren body:0D01='15 03 40 00' --why 'raw, from the notes'"), @"
    $ asfound change wren body:0D01='15 03 40 00' --why 'raw, from the notes'
    wren · entry 3 · change · 14 March 2026, 09:35
    ════════════════════════════════════════════════════════════════════════════════
    why             raw, from the notes

    SETTING                    AS FOUND   AS LEFT
    ─────────────────────────────────────────────
    body.lane_change_flashes   3          5

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    as found        13 03 40 56
    as left         15 03 40 58
    differs in      byte 0 bits 1-2, byte 3 bits 1-3
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 3 (not yet verified). Next: read the module (body) again and file
    it: asfound read wren FILE --as left
    --- exit code 0
    ");
    assert_snapshot!(shop.run("put-back wren 3 --done --sheet CODE --why 'as it was'"), @"
    $ asfound put-back wren 3 --done --sheet QEN3-JGA3 --why 'as it was'
    wren · entry 4 · put-back · 14 March 2026, 09:45
    ════════════════════════════════════════════════════════════════════════════════
    why             as it was

    SETTING                    AS FOUND   AS LEFT
    ─────────────────────────────────────────────
    body.lane_change_flashes   5          3

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    as found        15 03 40 58
    as left         13 03 40 56
    differs in      byte 0 bits 1-2, byte 3 bits 1-3
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 4 (not yet verified). Next: read the module (body) again and file
    it: asfound read wren FILE --as left
    --- exit code 0
    ");
    assert_eq!(shop.run("compare wren 2 4 --expect-same").exit, 0);
}

#[test]
fn undeclared_bits_are_a_field_of_their_own() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body:0D01='13 03 C0 D6' --why 'what does bit 7 do?'").done();
    let _ = shop.run("change wren body.lock_speed=20 --why faster").done();
    assert_snapshot!(shop.run("put-back wren 3"), @"
    $ asfound put-back wren 3
    wren · put back entry 3 · not carried out yet · stands on entry 4
    ════════════════════════════════════════════════════════════════════════════════

    For every step
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    SETTING                          AS FOUND      AS LEFT       WILL IT CHANGE
    ───────────────────────────────────────────────────────────────────────────
    body:0D01 byte 2 bit 7: 1 to 0   13 04 C0 D7   13 04 40 57   yes

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    look for        13 04 C0 D7
      request       22 0D 01
    write           13 04 40 57
      request       2E 0D 01 13 04 40 57
    differs in      byte 2 bit 7, byte 3 bit 7
    then read       13 04 40 57
    caution: Close the doors before the write; the module locks them when it
             restarts.
    caution: Bits are altered that no definition names.

    Code of this sheet: 6MCW-8E6T
    When every step is made: asfound put-back wren 3 --done --sheet 6MCW-8E6T --why
    TEXT
    --- exit code 0
    ");
}

#[test]
fn a_change_without_any_reading() {
    let mut shop = Workshop::equipped();
    let _ = shop.run("enrol wren").done();
    assert_snapshot!(shop.run("change wren cluster.needle_sweep=on --was off --why 'looks good'"), @"
    $ asfound change wren cluster.needle_sweep=on --was off --why 'looks good'
    wren · entry 2 · change · 14 March 2026, 09:25
    ════════════════════════════════════════════════════════════════════════════════
    why             looks good

    SETTING                AS FOUND   AS LEFT
    ─────────────────────────────────────────
    cluster.needle_sweep   off        on

    Step 1 of 1: cluster, setting needle_sweep, by name
    class           routine
    as found        off
    as left         on

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 2 (not yet verified). Next: look the setting up (cluster) again
    and file it: asfound read wren FILE --as left
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entries wren cluster.needle_sweep"), @"
    $ asfound entries wren cluster.needle_sweep
    wren · cluster.needle_sweep · Needles swing once at start
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          AS FOUND   AS LEFT   BY                             PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        2   14 Mar 2026   off        on        change, Edda Brandt (looks     stated
                                               good)
    --- exit code 0
    ");
    // A reading by bytes proves it, and the bytes tell the value from then on.
    shop.rewrite("as-found.toml", "first.toml", &[("0C01 = \"00\"", "0C01 = \"01\"")]);
    let reading: ReadingFiled = shop.json("read wren ./first.toml --as left");
    let proven: Vec<_> = reading.read_back.iter().map(|one| (one.field.as_str(), one.entry)).collect();
    assert_eq!(proven, [("cluster.needle_sweep", 2)]);
    assert!(reading.differences.is_empty(), "{reading:?}");
    let _ = shop.run("put-back wren 2 --done --sheet CODE --why 'as it was'").done();
    let state = plain_git::text(&shop.repository(), &["show", "wren:modules/cluster.toml"]);
    assert!(state.contains("0C01 = \"00\"") && !state.contains("by_value_alone"), "{state}");
}

#[test]
fn a_setting_that_no_definition_knows() {
    let mut shop = Workshop::with_wren();
    let _ = shop
        .run("change wren radio.volume=3 radio.bass='+2' --was radio.volume=5 --was radio.bass=0 --why louder")
        .done();
    let settings: Settings = shop.json("settings wren --module radio");
    let values: Vec<_> =
        settings.settings.iter().map(|line| (line.setting.as_str(), line.content.text.as_str())).collect();
    assert_eq!(values, [("radio.bass", "+2"), ("radio.volume", "3")]);
    let _ = shop.run("put-back wren 3 --done --sheet CODE --why quieter").done();
    let settings: Settings = shop.json("settings wren --module radio");
    let values: Vec<_> = settings.settings.iter().map(|line| line.content.text.as_str()).collect();
    assert_eq!(values, ["0", "5"]);
}

#[test]
fn several_settings_are_one_entry_and_one_write_a_record() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.run("change wren body.lock_at_speed=on body.lock_speed='20 km/h' cluster.needle_sweep=on --why 'as agreed'"), @"
    $ asfound change wren body.lock_at_speed=on body.lock_speed='20 km/h' cluster.needle_sweep=on --why 'as agreed'
    wren · entry 3 · change · 14 March 2026, 09:35
    ════════════════════════════════════════════════════════════════════════════════
    why             as agreed

    SETTING                AS FOUND   AS LEFT
    ─────────────────────────────────────────
    body.lock_at_speed     off        on
    body.lock_speed        15 km/h    20 km/h
    cluster.needle_sweep   off        on

    Step 1 of 2: body at 0x0E, record 0D01
    class           caution
    as found        13 03 40 56
    as left         33 04 40 77
    differs in      byte 0 bit 5, byte 1 bits 0-2, byte 3 bits 0,5
    caution: Close the doors before the write; the module locks them when it
             restarts.
    caution: Children must be able to leave the car: show the owner how the doors
             open from inside.

    Step 2 of 2: cluster at 0x17, record 0C01
    class           routine
    as found        00
    as left         01
    differs in      byte 0 bit 0

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 3 (not yet verified). Next: read the module (body, cluster) again
    and file it: asfound read wren FILE --as left
    --- exit code 0
    ");
}

#[test]
fn when_by_whom_and_why() {
    let mut shop = Workshop::with_wren();
    let line = "change wren body.lock_by_horn=on --was off --at '2026-03-13 18:30' \
                --why 'wants to hear it\nand so do the neighbours'";
    let filed = shop.run(&format!("{line} --author 'Tove Rask <tove@workshop.example>'"));
    assert_eq!(filed.exit, 0, "{filed}");
    assert!(filed.err.contains("earlier than entry 2"), "{filed}");
    let entry: Entry = shop.json("entry wren 3");
    assert_eq!(entry.entry.happened, "2026-03-13T18:30:00+01:00");
    assert_eq!(entry.entry.recorded, "2026-03-14T09:35:00+01:00");
    assert_eq!(
        (entry.entry.author.name.as_str(), entry.entry.author.email.as_deref()),
        ("Tove Rask", Some("tove@workshop.example"))
    );
    let log = plain_git::text(&shop.repository(), &["log", "-1", "--format=%an <%ae> %aI%n%B", "wren"]);
    assert_snapshot!(log.trim_end(), @"
    Tove Rask <tove@workshop.example> 2026-03-14T09:35:00+01:00
    3 change: body.lock_by_horn off -> on

    wants to hear it
    and so do the neighbours

    body.lock_by_horn off -> on
    ");
    shop.write("garage/garage.toml", "format = \"asfound-garage/1\"\n[author]\nname = \"Werkstatt Süd\"\n");
    let output = {
        let mut command = shop.process(crate::BINARY, "note wren 'who files this?'");
        command.env_remove("ASFOUND_AUTHOR").output().unwrap()
    };
    assert!(output.status.success());
    let log = plain_git::text(&shop.repository(), &["log", "-1", "--format=%an <%ae>", "wren"]);
    assert_eq!(log, "Werkstatt Süd <not-stated@invalid>\n");
}
