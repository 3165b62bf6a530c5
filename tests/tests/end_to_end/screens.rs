//! The screens that tell of a journal, at 80 columns. That no line is longer is held for every command that a
//! workshop runs, by the workshop.

use asfound_tests::Workshop;
use insta::assert_snapshot;

#[test]
fn entries() {
    let mut shop = Workshop::after_put_back();
    assert_snapshot!(shop.run("entries wren"), @"
    $ asfound entries wren
    wren · VIN ZZ9WRENA9T2000017 · grey estate
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          WHAT                                PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        1   14 Mar 2026   enrolled: wren (journal started)    –
        2   14 Mar 2026   reading as found: 3 modules, 4      –
                          records (from as-found.toml)
        3   14 Mar 2026   change: body.lane_change_flashes    read back, entry 6; on
                          3 -> 5 (owner wants five)           trial
        4   14 Mar 2026   change: body.lock_by_horn off ->    read back, entry 6
                          on (wants to hear it)
        5   14 Mar 2026   change: body.lock_at_speed off ->   read back, entry 6; on
                          on (children in the back)           trial
        6   14 Mar 2026   reading as left: 3 modules, 4       –
                          records (from as-left.toml)
        7   20 Apr 2026   reading check: 3 modules, 4         –
                          records; another hand: 2
                          settings; cannot tell: 1 field
                          (from weeks-later.toml)
        8   20 Apr 2026   put-back of entry 4:                stated; on trial
                          body.lock_by_horn on -> off
                          (neighbours complain)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entries wren body.lock_by_horn"), @"
    $ asfound entries wren body.lock_by_horn
    wren · body.lock_by_horn · Horn tone on locking
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          AS FOUND   AS LEFT   BY                  PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        2   14 Mar 2026   –          off       first known         –
        4   14 Mar 2026   off        on        change, Edda        read back, entry
                                               Brandt (wants to    6
                                               hear it)
        8   20 Apr 2026   on         off       put-back, Edda      stated
                                               Brandt
                                               (neighbours
                                               complain)
    --- exit code 0
    ");
}

#[test]
fn settings() {
    let mut shop = Workshop::after_put_back();
    assert_snapshot!(shop.run("settings wren"), @"
    $ asfound settings wren
    wren · settings after entry 8 · 20 April 2026
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                    VALUE     FACTORY   PROVEN
    ─────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   5         3         entry 3, read back 6; on trial
    body.lock_at_speed         on        off       entry 5, read back 6; on trial
    body.lock_by_horn          off       same      stated, entry 8; on trial
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
    ─────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   5         3         entry 3, read back 6; on trial
    body.lock_at_speed         on        off       entry 5, read back 6; on trial
    body.lock_by_horn          off       same      stated, entry 8; on trial
    body.lock_speed            20 km/h   15 km/h   another hand, seen 7
    cluster.needle_sweep       on        off       another hand, seen 7

    5 settings.
    --- exit code 0
    ");
}

#[test]
fn comparisons() {
    let mut shop = Workshop::after_put_back();
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
        body record 0D01; undeclared: byte 2 bit 0: 0 to 1
          as found  [13 03 40 56]
          as left   [35 04 41 7A]
        cluster record 0C01
          as found  [00]
          as left   [01]

    Cannot tell: 1 bit in 1 record differs, and may be settings or measured values.

    TROUBLE CODES   THERE BEFORE   NEW   GONE
    ─────────────────────────────────────────
    brakes          C0035-11       –     –

    Trouble codes: not examined in body, cluster.

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
        body record 0D01; undeclared: byte 2 bit 0: 0 to 1
          as found  3D [03 40 80]
          as left   3D [04 41 82]
        cluster record 0C01
          as found  [00]
          as left   [01]

    Cannot tell: 1 bit in 1 record differs, and may be settings or measured values.

    Trouble codes: not examined in any module.

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

#[test]
fn one_entry() {
    let mut shop = Workshop::after_put_back();
    assert_snapshot!(shop.run("entry wren 1"), @"
    $ asfound entry wren 1
    wren · entry 1 · enrolled · 14 March 2026, 09:15
    ════════════════════════════════════════════════════════════════════════════════
    why             journal started
    by              Edda Brandt
    filed           14 March 2026, 09:15
    VIN             ZZ9WRENA9T2000017
    about           grey estate

    commit          <commit>
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 2"), @"
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

    Trouble codes
      · brakes C0035-11: chassis, generic
        status      2F: testFailed, testFailedThisOperationCycle, pendingDTC,
                    confirmedDTC, testFailedSinceLastClear

    8 settings are known here for the first time.

    commit          <commit>
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 3"), @"
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
      as found      13 03 40 56
      as left       15 03 40 58

    commit          <commit>
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 8"), @"
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
      as found      3D 04 41 82
      as left       35 04 41 7A

    commit          <commit>
    --- exit code 0
    ");
}

#[test]
fn explanations() {
    let mut shop = Workshop::after_put_back();
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
    place           record 0D01 (Comfort functions), byte 0, bit 5, 1 bit
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
    assert_snapshot!(shop.run("explain brakes.hill_hold"), @"
    $ asfound explain brakes.hill_hold
    brakes.hill_hold · Hold on a hill
    ════════════════════════════════════════════════════════════════════════════════
    may be          off, on
    from factory    on
    class           restricted (braking, comfort)
    place           record 0B10 (Brake functions), byte 0, bit 0, 1 bit
    definition      aviary-brakes-1, Brake module
    source          –
    caution: Try it on a level yard before any hill.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("explain lock --vehicle wren"), @"
    $ asfound explain lock --vehicle wren
    SETTING                  LABEL                    MAY BE              CLASS
    ─────────────────────────────────────────────────────────────────────────────
    body.lock_at_speed       Lock at speed            off, on             routine
    body.lock_by_horn        Horn tone on locking     off, on             routine
    body.lock_speed          Speed from which the     5 km/h to 50 km/h   routine
                             doors lock
    body.relock_delay        Delay before it locks    short, long         routine
                             again
    body.unlock_on_key_out   Unlock when the key is   off, on             routine
                             taken out
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
