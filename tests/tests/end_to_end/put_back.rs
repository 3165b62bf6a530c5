//! Putting back where later entries stand in the way, and what cannot be put back at all.

use asfound_tests::Workshop;
use insta::assert_snapshot;

/// `wren` with flashes 3 -> 5 in entry 3, then 5 -> 4 together with the horn in entry 4.
fn changed_twice() -> Workshop {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    let _ = shop.run("change wren body.lane_change_flashes=4 body.lock_by_horn=on --why 'on second thoughts'").done();
    shop
}

#[test]
fn a_later_entry_stands_in_the_way() {
    let mut shop = changed_twice();
    assert_snapshot!(shop.refused("put-back wren 3"), @"
    $ asfound put-back wren 3
    --- standard error
    asfound: later entries changed the same settings again
      body.lane_change_flashes: entry 3, then entry 4
    hint: put 4 back too, keep the present value with `--keep SETTING`, or choose
          one with `--choose SETTING=VALUE`
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("put-back wren 3 --done --sheet CODE --why 'as it was'"), @"
    $ asfound put-back wren 3 --done --sheet 0000-0000 --why 'as it was'
    --- standard error
    asfound: later entries changed the same settings again
      body.lane_change_flashes: entry 3, then entry 4
    hint: put 4 back too, keep the present value with `--keep SETTING`, or choose
          one with `--choose SETTING=VALUE`
    --- exit code 3
    ");
}

#[test]
fn the_later_entry_is_put_back_too() {
    let mut shop = changed_twice();
    assert_snapshot!(shop.run("put-back wren 3 4 --done --sheet CODE --why 'as it was'"), @"
    $ asfound put-back wren 3 4 --done --sheet NJQB-JPSD --why 'as it was'
    wren · entry 5 · put-back · 14 March 2026, 09:55
    ════════════════════════════════════════════════════════════════════════════════
    why             as it was

    SETTING                    AS FOUND   AS LEFT
    ─────────────────────────────────────────────
    body.lane_change_flashes   4          3
    body.lock_by_horn          on         off

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    as found        1C 03 40 5F
    as left         13 03 40 56
    differs in      byte 0 bits 0-3, byte 3 bits 0,3
    caution: Close the doors before the write; the module locks them when it
             restarts.

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
    assert_snapshot!(shop.run("compare wren 2 5 --expect-same"), @"
    $ asfound compare wren 2 5 --expect-same
    comparison · entry 2 · entry 5
    ════════════════════════════════════════════════════════════════════════════════
    No setting differs.

    Trouble codes: not examined in any module.

    Records, module by module
    MODULE    SAME   CHANGED   NOT READ   REFUSED   BYTES COMPARED   VOLATILE
    ─────────────────────────────────────────────────────────────────────────
    body         1         0          1         0                4          0
    brakes       0         0          1         0                0          0
    cluster      0         0          1         1                0          0
    3 records were not read again in between, so nothing is said of them.
    --- exit code 0
    ");
}

#[test]
fn the_present_value_is_kept() {
    let mut shop = changed_twice();
    assert_snapshot!(shop.run("put-back wren 4 --keep body.lane_change_flashes"), @"
    $ asfound put-back wren 4 --keep body.lane_change_flashes
    wren · put back entry 4 · not carried out yet · stands on entry 4
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
    look for        1C 03 40 5F
      request       22 0D 01
    write           14 03 40 57
      request       2E 0D 01 14 03 40 57
    differs in      byte 0 bit 3, byte 3 bit 3
    by name         lock_by_horn on -> off
    then read       14 03 40 57
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Code of this sheet: 90V1-XTT8
    When every step is made: asfound put-back wren 4 --keep body.lane_change_flashes
    --done --sheet 90V1-XTT8 --why TEXT
    --- exit code 0
    ");
    assert_snapshot!(shop.refused("put-back wren 3 --keep body.lane_change_flashes"), @"
    $ asfound put-back wren 3 --keep body.lane_change_flashes
    --- standard error
    asfound: there is nothing to do: everything is already as wanted
    --- exit code 1
    ");
}

#[test]
fn another_value_is_chosen() {
    let mut shop = changed_twice();
    assert_snapshot!(shop.run("put-back wren 3 --choose body.lane_change_flashes=2 --done --sheet CODE --why compromise"), @"
    $ asfound put-back wren 3 --choose body.lane_change_flashes=2 --done --sheet EVM0-9XCW --why compromise
    wren · entry 5 · put-back · 14 March 2026, 09:55
    ════════════════════════════════════════════════════════════════════════════════
    why             compromise

    SETTING                    AS FOUND   AS LEFT
    ─────────────────────────────────────────────
    body.lane_change_flashes   4          2

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    as found        1C 03 40 5F
    as left         1A 03 40 5D
    differs in      byte 0 bits 1-2, byte 3 bit 1
    caution: Close the doors before the write; the module locks them when it
             restarts.

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
    assert_snapshot!(shop.run("entries wren body.lane_change_flashes"), @"
    $ asfound entries wren body.lane_change_flashes
    wren · body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          AS FOUND   AS LEFT   BY                             PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        2   14 Mar 2026   –          3         first known                    –
        3   14 Mar 2026   3          5         change, Edda Brandt (owner     stated
                                               wants five)
        4   14 Mar 2026   5          4         change, Edda Brandt (on        stated
                                               second thoughts)
        5   14 Mar 2026   4          2         put-back, Edda Brandt          stated
                                               (compromise)
    --- exit code 0
    ");
    assert_snapshot!(shop.refused("put-back wren 4 --choose body.lane_change_flashes=9"), @"
    $ asfound put-back wren 4 --choose body.lane_change_flashes=9
    --- standard error
    asfound: body.lane_change_flashes: `9` cannot be stored; the largest that can is
             7
    hint: `asfound explain body.lane_change_flashes` says what it may be
    --- exit code 2
    ");
}

#[test]
fn a_slip_in_what_is_kept_or_chosen() {
    let mut shop = changed_twice();
    assert_snapshot!(shop.refused("put-back wren 4 --keep body.lane_change_flash"), @"
    $ asfound put-back wren 4 --keep body.lane_change_flash
    --- standard error
    asfound: body.lane_change_flash is not among what would be put back
    hint: these are: body.lane_change_flashes, body.lock_by_horn
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("put-back wren 4 --choose body.lock_speed=20"), @"
    $ asfound put-back wren 4 --choose body.lock_speed=20
    --- standard error
    asfound: body.lock_speed is not among what would be put back
    hint: these are: body.lane_change_flashes, body.lock_by_horn
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("put-back wren 4 --choose body:0D01='13 03 40 56'"), @"
    $ asfound put-back wren 4 --choose body:0D01='13 03 40 56'
    --- standard error
    asfound: a value is chosen for a setting, not for body:0D01
    --- exit code 2
    ");
}

#[test]
fn entries_that_altered_nothing_or_are_not_there() {
    let mut shop = changed_twice();
    let _ = shop.run("note wren 'horn sounds hoarse'").done();
    assert_snapshot!(shop.refused("put-back wren 5"), @"
    $ asfound put-back wren 5
    --- standard error
    asfound: entry 5 altered nothing that could be put back
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("put-back wren 2"), @"
    $ asfound put-back wren 2
    --- standard error
    asfound: entry 2 altered nothing that could be put back
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("put-back wren 1"), @"
    $ asfound put-back wren 1
    --- standard error
    asfound: entry 1 altered nothing that could be put back
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("put-back wren 3 6"), @"
    $ asfound put-back wren 3 6
    --- standard error
    asfound: the journal of `wren` has no entry 6: its last is 5
    hint: `asfound entries wren` lists them
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("put-back wren 0"), @"
    $ asfound put-back wren 0
    --- standard error
    error: invalid value '0' for '<N>...': invalid entry number `0` (expected 1, 2, 3 …)

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("put-back wren"), @"
    $ asfound put-back wren
    --- standard error
    error: the following required arguments were not provided:
      <N>...

    Usage: asfound put-back <TAG> <N>...

    For more information, try '--help'.
    --- exit code 2
    ");
}

#[test]
fn a_return_needs_an_entry_of_the_past() {
    let mut shop = changed_twice();
    assert_snapshot!(shop.refused("return-to wren 9"), @"
    $ asfound return-to wren 9
    --- standard error
    asfound: the journal of `wren` has no entry 9: its last is 4
    hint: `asfound entries wren` lists them
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("return-to wren 4"), @"
    $ asfound return-to wren 4
    --- standard error
    asfound: there is nothing to do: everything is already as wanted
    --- exit code 1
    ");
    assert_snapshot!(shop.refused("return-to wren 2 --done --sheet CODE"), @"
    $ asfound return-to wren 2 --done --sheet NJQB-JPSD
    --- standard error
    asfound: an entry needs its reason, in a few words
    hint: say why with `--why TEXT`
    --- exit code 2
    ");
}

#[test]
fn what_another_hand_did_is_put_back_like_any_change() {
    let mut shop = Workshop::after_another_hand();
    assert_snapshot!(shop.run("put-back wren 7 --done --sheet CODE --why 'nobody ordered that'"), @"
    $ asfound put-back wren 7 --done --sheet QHAC-VP6Y --why 'nobody ordered that'
    wren · entry 8 · put-back · 20 April 2026, 17:00
    ════════════════════════════════════════════════════════════════════════════════
    why             nobody ordered that

    SETTING                AS FOUND   AS LEFT
    ─────────────────────────────────────────
    body.lock_speed        20 km/h    15 km/h
    cluster.needle_sweep   on         off

    Step 1 of 2: body at 0x0E, record 0D01
    class           caution
    as found        3D 04 41 82
    as left         3D 03 40 80
    differs in      byte 1 bits 0-2, byte 2 bit 0, byte 3 bit 1
    caution: Close the doors before the write; the module locks them when it
             restarts.
    caution: Bits are altered that no definition names.

    Step 2 of 2: cluster at 0x17, record 0C01
    class           routine
    as found        01
    as left         00
    differs in      byte 0 bit 0

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 8 (not yet verified). Next: read the module (body, cluster) again
    and file it: asfound read wren FILE --as left
    --- exit code 0
    ");
    assert_snapshot!(shop.run("compare wren 6 8 --expect-same"), @"
    $ asfound compare wren 6 8 --expect-same
    comparison · entry 6 · entry 8
    ════════════════════════════════════════════════════════════════════════════════
    No setting differs.

    Trouble codes: not examined in any module.

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
fn a_put_back_is_put_back() {
    let mut shop = Workshop::after_put_back();
    let _ = shop.run("put-back wren 8 --done --sheet CODE --why 'wants it after all'").done();
    assert_snapshot!(shop.run("compare wren 7 9 --expect-same"), @"
    $ asfound compare wren 7 9 --expect-same
    comparison · entry 7 · entry 9
    ════════════════════════════════════════════════════════════════════════════════
    No setting differs.

    Trouble codes: not examined in any module.

    Records, module by module
    MODULE    SAME   CHANGED   NOT READ   REFUSED   BYTES COMPARED   VOLATILE
    ─────────────────────────────────────────────────────────────────────────
    body         1         0          1         0                4          0
    brakes       0         0          1         0                0          0
    cluster      0         0          1         1                0          0
    3 records were not read again in between, so nothing is said of them.
    --- exit code 0
    ");
}
