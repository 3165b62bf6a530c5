//! The main story, screen by screen: as found, three changes that share a byte, as left, another hand, one change
//! put back while the others stay.

use asfound_tests::Workshop;
use insta::assert_snapshot;
use time::macros::datetime;

/// The story up to the reading as left: entry 6.
fn as_left() -> Workshop {
    let mut shop = Workshop::with_wren();
    for command in [
        "change wren body.lane_change_flashes=5 --why 'owner wants five'",
        "change wren body.lock_by_horn=on --why 'wants to hear it'",
        "change wren body.lock_at_speed=on --why 'children in the back'",
    ] {
        let _ = shop.run(command).done();
    }
    shop.wait_until(datetime!(2026-03-14 11:10 +1));
    let _ = shop.run("read wren ./as-left.toml --as left").done();
    shop
}

/// The story up to the put-back: entry 8.
fn put_back() -> Workshop {
    let mut shop = as_left();
    shop.wait_until(datetime!(2026-04-20 16:50 +2));
    let _ = shop.run("read wren ./weeks-later.toml").done();
    let _ = shop.run("put-back wren 4 --done --why 'neighbours complain'").done();
    shop
}

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

    Filed as entry 2. 8 settings are known for the first time.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("vehicles"), @"
    $ asfound vehicles
    VEHICLE   VIN                 ENTRIES   LAST ENTRY               ABOUT
    ────────────────────────────────────────────────────────────────────────────
    wren      ZZ9WRENA9T2000017         2   14 March 2026, reading   grey estate
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

    When every step is made: say the same without `--preview`
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

    Filed as entry 3: stated. Next: read the module again (body) and file it:
    asfound read wren FILE --as left
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

    Filed as entry 5: stated. Next: read the module again (body) and file it:
    asfound read wren FILE --as left
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
    records         4 same, 0 changed since the last known state

    Nothing differs from the last known state.

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
    let mut shop = as_left();
    shop.wait_until(datetime!(2026-04-20 16:50 +2));
    assert_snapshot!(shop.run("read wren ./weeks-later.toml"), @"
    $ asfound read wren ./weeks-later.toml
    wren · entry 7 · reading check · 20 April 2026, 16:40
    ════════════════════════════════════════════════════════════════════════════════
    odometer        85977 km
    supply voltage  12.4 V
    taken with      bench reader
    covers          3 modules, 4 records, 1 record refused
    records         2 same, 2 changed since the last known state

    Differs from the last known state
    SETTING                     AS FOUND      NOW           ACCOUNTED FOR BY
    ────────────────────────────────────────────────────────────────────────────────
    body.lock_speed             15 km/h       20 km/h       another hand, settings
                                                            altered
    cluster.needle_sweep        off           on            another hand, settings
                                                            altered
    body:0D01 (1 undeclared     00 00 00 00   00 00 01 00   another hand, settings
    bits)                                                   altered
    Another hand was there between 14 March 2026 (entry 6) and 20 April 2026, 84212
    km and 85977 km.

    Bytes that differ
        body record 0D01; undeclared: byte 2 bit 0
          as found  3D [03 40 80]
          as left   3D [04 41 82]
        cluster record 0C01
          as found [00]
          as left  [01]

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
    body:0D01 (1 undeclared     00 00 00 00   00 00 01 00   another hand, settings
    bits)                                                   altered

    commit          59c72e3f61859bdea3f0ff9f5193fea085bb0a98
    --- exit code 0
    ");
}

#[test]
fn one_change_is_put_back_and_the_others_stay() {
    let mut shop = as_left();
    shop.wait_until(datetime!(2026-04-20 16:50 +2));
    let _ = shop.run("read wren ./weeks-later.toml").done();
    assert_snapshot!(shop.run("put-back wren 4"), @"
    $ asfound put-back wren 4
    wren · put back entry 4 · not carried out yet · stands on entry 7
    ════════════════════════════════════════════════════════════════════════════════
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

    When every step is made: say the same with `--done --why TEXT`
    --- exit code 0
    ");
    assert_snapshot!(shop.run("put-back wren 4 --done --why 'neighbours complain'"), @"
    $ asfound put-back wren 4 --done --why 'neighbours complain'
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

    Filed as entry 8: stated. Next: read the module again (body) and file it:
    asfound read wren FILE --as left
    --- exit code 0
    ");
    // The vehicle says what the work step asked for: byte 0 without bit 3, and everything else as another hand left it.
    shop.rewrite("weeks-later.toml", "afterwards.toml", &[
        ("3D 04 41 82", "35 04 41 7A"),
        ("2026-04-20T16:40:00", "2026-04-20T17:15:00"),
    ]);
    shop.wait_until(datetime!(2026-04-20 17:20 +2));
    assert_snapshot!(shop.run("read wren ./afterwards.toml --as left"), @"");
}

#[test]
fn the_journal_tells_it_all() {
    let mut shop = put_back();
    assert_snapshot!(shop.run("entries wren"), @"
    $ asfound entries wren
    wren · VIN ZZ9WRENA9T2000017 · grey estate
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE            WHAT                                  PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        1   14 March 2026   enrolled: wren (VIN                   –
                            ZZ9WRENA9T2000017) (journal
                            started)
        2   14 March 2026   reading as found: 3 modules, 4        –
                            records (from as-found.toml)
        3   14 March 2026   change: body.lane_change_flashes 3    read back, entry 6
                            -> 5 (owner wants five)
        4   14 March 2026   change: body.lock_by_horn off -> on   read back, entry 6
                            (wants to hear it)
        5   14 March 2026   change: body.lock_at_speed off ->     read back, entry 6
                            on (children in the back)
        6   14 March 2026   reading as left: 3 modules, 4         –
                            records (from as-left.toml)
        7   20 April 2026   reading check: 3 modules, 4           –
                            records; another hand: 3 settings
                            (from weeks-later.toml)
        8   20 April 2026   put-back of entry 4:                  stated
                            body.lock_by_horn on -> off
                            (neighbours complain)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entries wren body.lock_by_horn"), @"
    $ asfound entries wren body.lock_by_horn
    wren · body.lock_by_horn · Horn tone on locking
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE           AS FOUND   AS LEFT   BY                  PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        2   14 March       –          off       first known         –
            2026
        4   14 March       off        on        change, Edda        read back, entry
            2026                                Brandt (wants to    6
                                                hear it)
        8   20 April       on         off       put-back, Edda      stated
            2026                                Brandt
                                                (neighbours
                                                complain)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("settings wren"), @"
    $ asfound settings wren
    wren · settings after entry 8 · 20 April 2026
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                    VALUE     FACTORY   PROVEN
    ───────────────────────────────────────────────────────────────────
    body.lane_change_flashes   5         3         entry 3, read back 6
    body.lock_at_speed         on        off       entry 5, read back 6
    body.lock_by_horn          off       same      stated, entry 8
    body.lock_speed            20 km/h   15 km/h   another hand, seen 7
    body.relock_delay          short     same      as read, entry 7
    body.unlock_on_key_out     on        same      as read, entry 7
    brakes.hill_hold           on        same      as read, entry 7
    cluster.needle_sweep       on        off       another hand, seen 7

    8 settings.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("settings wren --at 2 --module body"), @"
    $ asfound settings wren --at 2 --module body
    wren · settings after entry 2 · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                    VALUE     FACTORY   PROVEN
    ───────────────────────────────────────────────────────────────
    body.lane_change_flashes   3         same      as read, entry 2
    body.lock_at_speed         off       same      as read, entry 2
    body.lock_by_horn          off       same      as read, entry 2
    body.lock_speed            15 km/h   same      as read, entry 2
    body.relock_delay          short     same      as read, entry 2
    body.unlock_on_key_out     on        same      as read, entry 2

    6 settings.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("settings wren --altered"), @"
    $ asfound settings wren --altered
    wren · settings after entry 8 · 20 April 2026
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                    VALUE     FACTORY   PROVEN
    ───────────────────────────────────────────────────────────────────
    body.lane_change_flashes   5         3         entry 3, read back 6
    body.lock_at_speed         on        off       entry 5, read back 6
    body.lock_by_horn          off       same      stated, entry 8
    body.lock_speed            20 km/h   15 km/h   another hand, seen 7
    cluster.needle_sweep       on        off       another hand, seen 7

    5 settings.
    --- exit code 0
    ");
}

#[test]
fn entries_and_states_are_compared() {
    let mut shop = put_back();
    assert_snapshot!(shop.run("compare wren 2"), @"
    $ asfound compare wren 2
    comparison · entry 2 · entry 8
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                    ENTRY 2   ENTRY 8
    ────────────────────────────────────────────
    body.lane_change_flashes   3         5
    body.lock_at_speed         off       on
    body.lock_speed            15 km/h   20 km/h
    cluster.needle_sweep       off       on

    Bytes that differ
        body record 0D01; undeclared: byte 2 bit 0
          as found [13 03 40 56]
          as left  [35 04 41 7A]
        cluster record 0C01
          as found [00]
          as left  [01]

    TROUBLE CODES   THERE BEFORE   NEW   GONE
    ─────────────────────────────────────────
    brakes          C0035-11       –     –

    Records, module by module
    MODULE    SAME   CHANGED   NOT READ   REFUSED   BYTES COMPARED   VOLATILE
    ─────────────────────────────────────────────────────────────────────────
    body         1         1          0         0                5          2
    brakes       1         0          0         0                2          0
    cluster      0         1          0         1                1          0
    --- exit code 0
    ");
    assert_snapshot!(shop.run("compare wren 6 7 --expect-same"), @"
    $ asfound compare wren 6 7 --expect-same
    comparison · entry 6 · entry 7
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                ENTRY 6   ENTRY 7
    ────────────────────────────────────────
    body.lock_speed        15 km/h   20 km/h
    cluster.needle_sweep   off       on

    Bytes that differ
        body record 0D01; undeclared: byte 2 bit 0
          as found  3D [03 40 80]
          as left   3D [04 41 82]
        cluster record 0C01
          as found [00]
          as left  [01]

    TROUBLE CODES   THERE BEFORE   NEW   GONE
    ─────────────────────────────────────────
    brakes          C0035-11       –     –

    Records, module by module
    MODULE    SAME   CHANGED   NOT READ   REFUSED   BYTES COMPARED   VOLATILE
    ─────────────────────────────────────────────────────────────────────────
    body         1         1          0         0                5          2
    brakes       1         0          0         0                2          0
    cluster      0         1          0         1                1          0
    --- standard error
    asfound: 2 settings and 2 records differ where none should
    --- exit code 1
    ");
    assert_snapshot!(shop.run("compare wren 5 6 --expect-same"), @"
    $ asfound compare wren 5 6 --expect-same
    comparison · entry 5 · entry 6
    ════════════════════════════════════════════════════════════════════════════════
    No setting differs.

    TROUBLE CODES   THERE BEFORE   NEW   GONE
    ─────────────────────────────────────────
    brakes          C0035-11       –     –

    Records, module by module
    MODULE    SAME   CHANGED   NOT READ   REFUSED   BYTES COMPARED   VOLATILE
    ─────────────────────────────────────────────────────────────────────────
    body         2         0          0         0                5          2
    brakes       1         0          0         0                2          0
    cluster      1         0          0         1                1          0
    --- exit code 0
    ");
}

#[test]
fn one_entry_is_shown_in_full() {
    let mut shop = put_back();
    let without_commit = |shop: &mut Workshop, line: &str| {
        let mut ran = shop.run(line).done();
        // The salt makes every commit's id another one.
        let at = ran.out.find("commit          ").expect("the commit is named");
        ran.out.replace_range(at + 16..at + 56, "(forty digits)");
        ran
    };
    assert_snapshot!(without_commit(&mut shop, "entry wren 1"), @"
    $ asfound entry wren 1
    wren · entry 1 · enrolled · 14 March 2026, 09:15
    ════════════════════════════════════════════════════════════════════════════════
    why             journal started
    by              Edda Brandt
    filed           14 March 2026, 09:15
    VIN             ZZ9WRENA9T2000017
    about           grey estate

    commit          (forty digits)
    --- exit code 0
    ");
    assert_snapshot!(without_commit(&mut shop, "entry wren 2"), @"
    $ asfound entry wren 2
    wren · entry 2 · reading · 14 March 2026, 09:20
    ════════════════════════════════════════════════════════════════════════════════
    why             from as-found.toml
    by              Edda Brandt
    filed           14 March 2026, 09:25
    role            as found
    covers          3 modules, 4 records, 1 record refused, 1 trouble code in 1
                    module scanned
    odometer        84210 km
    supply voltage  12.6 V
    taken with      bench reader
    taken by        Jorun Lind

    8 settings are known here for the first time.

    commit          (forty digits)
    --- exit code 0
    ");
    assert_snapshot!(without_commit(&mut shop, "entry wren 3"), @"
    $ asfound entry wren 3
    wren · entry 3 · change · 14 March 2026, 09:35
    ════════════════════════════════════════════════════════════════════════════════
    why             owner wants five
    by              Edda Brandt
    filed           14 March 2026, 09:35

    SETTING                    AS FOUND   AS LEFT   PROVEN
    ──────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3          5         read back, entry 6

    Bytes
        body record 0D01
          as found  13 03 40 56
          as left   15 03 40 58

    commit          (forty digits)
    --- exit code 0
    ");
    assert_snapshot!(without_commit(&mut shop, "entry wren 8"), @"
    $ asfound entry wren 8
    wren · entry 8 · put-back · 20 April 2026, 17:00
    ════════════════════════════════════════════════════════════════════════════════
    why             neighbours complain
    by              Edda Brandt
    filed           20 April 2026, 17:00
    takes back      entry 4

    SETTING             AS FOUND   AS LEFT   PROVEN
    ───────────────────────────────────────────────
    body.lock_by_horn   on         off       stated

    Bytes
        body record 0D01
          as found  3D 04 41 82
          as left   35 04 41 7A

    commit          (forty digits)
    --- exit code 0
    ");
}

#[test]
fn settings_are_explained() {
    let mut shop = put_back();
    assert_snapshot!(shop.run("explain body.lane_change_flashes --vehicle wren"), @"
    $ asfound explain body.lane_change_flashes --vehicle wren
    body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    How often the indicators flash when the lever is only tapped.

    may be          1 to 5
    from factory    3
    class           caution (lighting)
    place           record 0D01 (Comfort functions), byte 0, bit 0, 3 bits
    acts on         cluster
    definition      aviary-body-1, Body module, first series
    source          common practice, no source
    caution: Close the doors before the write; the module locks them when it
             restarts.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("explain body.lock_at_speed --vehicle wren"), @"
    $ asfound explain body.lock_at_speed --vehicle wren
    body.lock_at_speed · Lock at speed
    ════════════════════════════════════════════════════════════════════════════════
    may be          off, on
    from factory    off
    class           routine (locking)
                    its record is caution: other settings in it ask for more care
    place           record 0D01 (Comfort functions), byte 0, bit 5, 1 bits
    definition      aviary-body-1, Body module, first series
    source          –
    rule            speed-lock-needs-unlock (Doors that lock by themselves must
                    unlock by themselves): body.lock_at_speed is on needs
                    body.unlock_on_key_out is on
    caution: Children must be able to leave the car: show the owner how the doors
             open from inside.
    caution: Close the doors before the write; the module locks them when it
             restarts.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("explain flash"), @"
    $ asfound explain flash
    body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    How often the indicators flash when the lever is only tapped.

    may be          1 to 5
    from factory    3
    class           caution (lighting)
    place           record 0D01 (Comfort functions), byte 0, bit 0, 3 bits
    acts on         cluster
    definition      aviary-body-1, Body module, first series
    source          common practice, no source
    caution: Close the doors before the write; the module locks them when it
             restarts.

    body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    may be          1 to 5
    from factory    3
    class           caution (lighting)
    place           record 0D01 (Comfort functions), byte 1, bit 4, 3 bits
    definition      aviary-body-2, Body module, second series
    source          –
    --- exit code 0
    ");
    assert_snapshot!(shop.run("definition list"), @"
    $ asfound definition list
    DEFINITION         MODULE    FITS                  SETTINGS   TITLE
    ────────────────────────────────────────────────────────────────────────────────
    aviary-body-1      body      part 7H0-95*,                6   Body module, first
                                 software below 0300              series
    aviary-body-2      body      part 7H0-95*,                7   Body module,
                                 software from 0300               second series
    aviary-brakes-1    brakes    –                            1   Brake module
    aviary-cluster-1   cluster   –                            1   Instrument cluster
    --- exit code 0
    ");
}
