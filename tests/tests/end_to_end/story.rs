//! The main story: as found, three changes that share a byte, as left, another hand, one change put back while the
//! others stay.

use asfound_tests::Workshop;
use insta::assert_snapshot;
use time::macros::datetime;

#[test]
fn a_vehicle_is_enrolled_and_read_as_found() {
    let mut shop = Workshop::equipped();
    assert_snapshot!(shop.run("enrol wren --vin ZZ9WRENA9T2000017 --about 'grey estate'"), @"
    $ asfound enrol wren --vin ZZ9WRENA9T2000017 --about 'grey estate'
    wren · entry 1 · enrolled · 14 March 2026, 09:15
    ════════════════════════════════════════════════════════════════════════════════
    VIN             ZZ9WRENA9T2000017
    about           grey estate
    garage          ./garage

    Next: read the modules and file what they say as found: asfound read wren FILE
    --as found
    --- exit code 0
    ");
    assert_snapshot!(shop.run("read wren ./as-found.toml --as found"), @"
    $ asfound read wren ./as-found.toml --as found
    wren · entry 2 · reading as found · 14 March 2026, 09:20
    ════════════════════════════════════════════════════════════════════════════════
    odometer        84210 km
    supply voltage  12.6 V
    taken with      bench reader
    covers          3 modules, 4 records, 1 record refused, 1 trouble code in 1
                    module scanned

    TROUBLE CODES   THERE BEFORE   NEW                     GONE
    ───────────────────────────────────────────────────────────
    brakes          –              C0035-11 (first scan)   –

    Trouble codes: not examined in body, cluster.

    Filed as entry 2. 8 settings are known for the first time.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("vehicles"), @"
    $ asfound vehicles
    VEHICLE   VIN                  ENTRIES   OPEN   LAST ENTRY    ABOUT
    ─────────────────────────────────────────────────────────────────────────
    wren      ZZ9WRENA9T2000017          2   –      14 Mar 2026   grey estate
    --- exit code 0
    ");
}

#[test]
fn three_changes_share_a_byte() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.run("change wren body.lane_change_flashes=5 --preview"), @"
    $ asfound change wren body.lane_change_flashes=5 --preview
    wren · change · not carried out yet · stands on entry 2
    ════════════════════════════════════════════════════════════════════════════════

    For every step
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    SETTING                    AS FOUND   AS LEFT   WILL IT CHANGE
    ──────────────────────────────────────────────────────────────
    body.lane_change_flashes   3          5         yes

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    look for        13 03 40 56
      request       22 0D 01
    write           15 03 40 58
      request       2E 0D 01 15 03 40 58
    differs in      byte 0 bits 1-2, byte 3 bits 1-3
    by name         lane_change_flashes 3 -> 5
    then read       15 03 40 58
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Code of this sheet: WJ4S-QVQN
    When every step is made: say the same without `--preview` and with `--sheet
    WJ4S-QVQN`
    --- exit code 0
    ");
    assert_snapshot!(shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'"), @"
    $ asfound change wren body.lane_change_flashes=5 --why 'owner wants five'
    wren · entry 3 · change · 14 March 2026, 09:45
    ════════════════════════════════════════════════════════════════════════════════
    why             owner wants five

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
    let _ = shop.run("change wren body.lock_by_horn=on --why 'wants to hear it'").done();
    assert_snapshot!(shop.run("change wren body.lock_at_speed=on --why 'children in the back'"), @"
    $ asfound change wren body.lock_at_speed=on --why 'children in the back'
    wren · entry 5 · change · 14 March 2026, 10:05
    ════════════════════════════════════════════════════════════════════════════════
    why             children in the back

    SETTING              AS FOUND   AS LEFT
    ───────────────────────────────────────
    body.lock_at_speed   off        on

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    as found        1D 03 40 60
    as left         3D 03 40 80
    differs in      byte 0 bit 5, byte 3 bits 5-7
    caution: Close the doors before the write; the module locks them when it
             restarts.
    caution: Children must be able to leave the car: show the owner how the doors
             open from inside.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 5 (not yet verified). Next: read the module (body) again and file
    it: asfound read wren FILE --as left
    --- exit code 0
    ");
    shop.wait_until(datetime!(2026-03-14 11:10 +1));
    assert_snapshot!(shop.run("read wren ./as-left.toml --as left"), @"
    $ asfound read wren ./as-left.toml --as left
    wren · entry 6 · reading as left · 14 March 2026, 11:05
    ════════════════════════════════════════════════════════════════════════════════
    odometer        84212 km
    supply voltage  12.6 V
    taken with      bench reader
    covers          3 modules, 4 records, 1 record refused, 1 trouble code in 1
                    module scanned
    records         4 same, 0 changed, of those known before

    Nothing differs from the last known state.

    TROUBLE CODES   THERE BEFORE   NEW   GONE
    ─────────────────────────────────────────
    brakes          C0035-11       –     –

    Trouble codes: not examined in body, cluster.

    Read back
      · body.lane_change_flashes: as entry 3 left it
      · body.lock_at_speed: as entry 5 left it
      · body.lock_by_horn: as entry 4 left it

    Filed as entry 6.
    --- exit code 0
    ");
}

#[test]
fn another_hand_is_found_weeks_later() {
    let mut shop = Workshop::after_work();
    shop.wait_until(datetime!(2026-04-20 16:50 +2));
    assert_snapshot!(shop.run("read wren ./weeks-later.toml"), @"
    $ asfound read wren ./weeks-later.toml
    wren · entry 7 · reading check · 20 April 2026, 16:40
    ════════════════════════════════════════════════════════════════════════════════
    odometer        85977 km
    supply voltage  12.4 V
    taken with      bench reader
    covers          3 modules, 4 records, 1 record refused
    records         2 same, 2 changed, of those known before

    Differs from the last known state
    SETTING                     AS FOUND      NOW           ACCOUNTED FOR BY
    ────────────────────────────────────────────────────────────────────────────────
    body.lock_speed             15 km/h       20 km/h       another hand, settings
                                                            altered
    cluster.needle_sweep        off           on            another hand, settings
                                                            altered
    body:0D01 byte 2 bit 0: 0   3D 03 40 80   3D 04 41 82   cannot tell: setting or
    to 1                                                    measured value

    When another hand was there
      · body, cluster: between 14 March 2026 (entry 6) and 20 April 2026, 84212 km
        and 85977 km

    Bytes that differ
        body record 0D01; undeclared: byte 2 bit 0: 0 to 1
          as found  3D [03 40 80]
          as left   3D [04 41 82]
        cluster record 0C01
          as found  [00]
          as left   [01]

    Cannot tell: 1 bit in 1 record differs, and may be settings or measured values.

    remark: its moment lies in the future: it is filed 20 April 2026, 16:50

    Filed as entry 7.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 7"), @"
    $ asfound entry wren 7
    wren · entry 7 · reading · 20 April 2026, 16:40
    ════════════════════════════════════════════════════════════════════════════════
    why             from weeks-later.toml
    by              Edda Brandt
    filed           20 April 2026, 16:50
    role            check
    covers          3 modules, 4 records, 1 record refused
    odometer        85977 km
    supply voltage  12.4 V
    taken with      bench reader
    taken by        Jorun Lind

    SETTING                     AS FOUND      AS LEFT       PROVEN
    ────────────────────────────────────────────────────────────────────────────────
    body.lock_speed             15 km/h       20 km/h       another hand, settings
                                                            altered
    cluster.needle_sweep        off           on            another hand, settings
                                                            altered
    body:0D01 byte 2 bit 0: 0   3D 03 40 80   3D 04 41 82   cannot tell: setting or
    to 1                                                    measured value

    commit          <commit>
    --- exit code 0
    ");
}

#[test]
fn one_change_is_put_back_and_the_others_stay() {
    let mut shop = Workshop::after_another_hand();
    assert_snapshot!(shop.run("put-back wren 4"), @"
    $ asfound put-back wren 4
    wren · put back entry 4 · not carried out yet · stands on entry 7
    ════════════════════════════════════════════════════════════════════════════════

    For every step
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    SETTING             AS FOUND   AS LEFT   WILL IT CHANGE
    ───────────────────────────────────────────────────────
    body.lock_by_horn   on         off       yes

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    look for        3D 04 41 82
      request       22 0D 01
    write           35 04 41 7A
      request       2E 0D 01 35 04 41 7A
    differs in      byte 0 bit 3, byte 3 bits 3-7
    by name         lock_by_horn on -> off
    then read       35 04 41 7A
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Code of this sheet: RH1H-4KJQ
    When every step is made: asfound put-back wren 4 --done --sheet RH1H-4KJQ --why
    TEXT
    --- exit code 0
    ");
    assert_snapshot!(shop.run("put-back wren 4 --done --sheet CODE --why 'neighbours complain'"), @"
    $ asfound put-back wren 4 --done --sheet RH1H-4KJQ --why 'neighbours complain'
    wren · entry 8 · put-back · 20 April 2026, 17:10
    ════════════════════════════════════════════════════════════════════════════════
    why             neighbours complain

    SETTING             AS FOUND   AS LEFT
    ──────────────────────────────────────
    body.lock_by_horn   on         off

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    as found        3D 04 41 82
    as left         35 04 41 7A
    differs in      byte 0 bit 3, byte 3 bits 3-7
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 8 (not yet verified). Next: read the module (body) again and file
    it: asfound read wren FILE --as left
    --- exit code 0
    ");
    // The vehicle says what the work step asked for: byte 0 without bit 3, everything else as another hand left it.
    shop.rewrite(
        "weeks-later.toml",
        "afterwards.toml",
        &[("3D 04 41 82", "35 04 41 7A"), ("2026-04-20T16:40:00", "2026-04-20T17:15:00")],
    );
    shop.wait_until(datetime!(2026-04-20 17:30 +2));
    assert_snapshot!(shop.run("read wren ./afterwards.toml --as left"), @"
    $ asfound read wren ./afterwards.toml --as left
    wren · entry 9 · reading as left · 20 April 2026, 17:15
    ════════════════════════════════════════════════════════════════════════════════
    odometer        85977 km
    supply voltage  12.4 V
    taken with      bench reader
    covers          3 modules, 4 records, 1 record refused
    records         4 same, 0 changed, of those known before

    Nothing differs from the last known state.

    Read back
      · body.lock_by_horn: as entry 8 left it

    remark: its moment lies in the future: it is filed 20 April 2026, 17:30

    Filed as entry 9.
    --- exit code 0
    ");
}

#[test]
fn everything_is_brought_back_to_how_it_was_found() {
    let mut shop = Workshop::after_put_back();
    assert_snapshot!(shop.run("return-to wren 2 --done --sheet CODE --why 'sold'"), @"
    $ asfound return-to wren 2 --done --sheet V2G7-Y3PG --why 'sold'
    wren · entry 9 · put-back · 20 April 2026, 17:10
    ════════════════════════════════════════════════════════════════════════════════
    why             sold

    SETTING                    AS FOUND   AS LEFT
    ─────────────────────────────────────────────
    body.lane_change_flashes   5          3
    body.lock_at_speed         on         off
    body.lock_speed            20 km/h    15 km/h
    cluster.needle_sweep       on         off

    Step 1 of 2: body at 0x0E, record 0D01
    class           caution
    as found        35 04 41 7A
    as left         13 03 40 56
    differs in      byte 0 bits 1,2,5, byte 1 bits 0-2, byte 2 bit 0, byte 3 bits
                    2,3,5
    caution: Close the doors before the write; the module locks them when it
             restarts.
    caution: Children must be able to leave the car: show the owner how the doors
             open from inside.
    caution: Bits are altered that no definition names.

    Step 2 of 2: cluster at 0x17, record 0C01
    class           routine
    as found        01
    as left         00
    differs in      byte 0 bit 0

    body.lock_by_horn is as wanted already.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 9 (not yet verified). Next: read the module (body, cluster) again
    and file it: asfound read wren FILE --as left
    --- exit code 0
    ");
    shop.rewrite("as-found.toml", "sold.toml", &[("2026-03-14T09:20:00+01:00", "2026-04-20T17:40:00+02:00")]);
    shop.wait_until(datetime!(2026-04-20 17:50 +2));
    let _ = shop.run("read wren ./sold.toml --as left").done();
    assert_snapshot!(shop.run("compare wren 2 10 --expect-same"), @"
    $ asfound compare wren 2 10 --expect-same
    comparison · entry 2 · entry 10
    ════════════════════════════════════════════════════════════════════════════════
    No setting differs.

    TROUBLE CODES   THERE BEFORE   NEW   GONE
    ─────────────────────────────────────────
    brakes          C0035-11       –     –

    Trouble codes: not examined in body, cluster.

    Records, module by module
    MODULE    SAME   CHANGED   NOT READ   REFUSED   BYTES COMPARED   VOLATILE
    ─────────────────────────────────────────────────────────────────────────
    body         2         0          0         0                5          2
    brakes       1         0          0         0                2          0
    cluster      1         0          0         1                1          0
    --- exit code 0
    ");
}
