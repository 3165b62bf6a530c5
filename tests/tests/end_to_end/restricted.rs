//! Restricted systems are acknowledged by tag, name and grounds, or left alone.

use asfound_tests::Workshop;
use insta::assert_snapshot;

#[test]
fn a_restricted_system_is_acknowledged_or_left_alone() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("change wren brakes.hill_hold=off --why 'rolls freely'"), @"
    $ asfound change wren brakes.hill_hold=off --why 'rolls freely'
    --- standard error
    asfound: the work touches a restricted system (braking) and nobody has
             acknowledged it
      Try it on a level yard before any hill.
    hint: this is for a qualified technician; local law and the maker's procedure
          come first. If you are one: --acknowledge braking --acknowledged-by NAME
          --grounds TEXT
    --- exit code 3
    ");
    assert_snapshot!(shop.run("change wren brakes.hill_hold=off --preview"), @"
    $ asfound change wren brakes.hill_hold=off --preview
    wren · change · not carried out yet · stands on entry 2
    ════════════════════════════════════════════════════════════════════════════════
    note well: restricted (braking): for a qualified technician. To carry it out or
               to file it, somebody has to acknowledge it by name and grounds:
               --acknowledge braking --acknowledged-by NAME --grounds TEXT

    For every step
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    SETTING            AS FOUND   AS LEFT   WILL IT CHANGE
    ──────────────────────────────────────────────────────
    brakes.hill_hold   on         off       yes

    Step 1 of 1: brakes at 0x03, record 0B10
    class           restricted (braking): for a qualified technician
    look for        01 7C
      request       22 0B 10
    write           00 7C
      request       2E 0B 10 00 7C
    differs in      byte 0 bit 0
    by name         hill_hold on -> off
    then read       00 7C
    caution: Try it on a level yard before any hill.

    Code of this sheet: HPEF-J45X
    When every step is made: say the same without `--preview`, with `--sheet
    HPEF-J45X` and with --acknowledge braking --acknowledged-by NAME --grounds TEXT
    --- exit code 0
    ");
    assert_snapshot!(shop.refused("change wren brakes.hill_hold=off --why x --acknowledge braking"), @"
    $ asfound change wren brakes.hill_hold=off --why x --acknowledge braking
    --- standard error
    asfound: an acknowledgement needs a tag, a name and its grounds
    hint: give `--acknowledge TAG --acknowledged-by NAME --grounds TEXT` together
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren brakes.hill_hold=off --why x --acknowledge breaks --acknowledged-by E --grounds G"), @"
    $ asfound change wren brakes.hill_hold=off --why x --acknowledge breaks --acknowledged-by E --grounds G
    --- standard error
    error: invalid value 'breaks' for '--acknowledge <TAG>': unknown safety tag `breaks`

    For more information, try '--help'.
    --- exit code 2
    ");
    let other = "--acknowledge steering --acknowledged-by 'Edda Brandt' --grounds 'order 12'";
    let _ = shop.refused(&format!("change wren brakes.hill_hold=off --why x {other}"));
    // A record of that module that no definition explains is no less restricted, and one-way does not open it.
    assert_snapshot!(shop.refused("change wren brakes:0B11='00' --one-way --why raw"), @"
    $ asfound change wren brakes:0B11='00' --one-way --why raw
    --- standard error
    asfound: the work touches a restricted system (braking) and nobody has
             acknowledged it
      No definition explains this record: what else its bytes do is not known.
    hint: this is for a qualified technician; local law and the maker's procedure
          come first. If you are one: --acknowledge braking --acknowledged-by NAME
          --grounds TEXT
    --- exit code 3
    ");
    let given = "--acknowledge braking --acknowledged-by 'Edda Brandt' --grounds 'order 12'";
    assert_snapshot!(shop.run(&format!("change wren brakes.hill_hold=off --why 'rolls freely' {given}")), @"
    $ asfound change wren brakes.hill_hold=off --why 'rolls freely' --acknowledge braking --acknowledged-by 'Edda Brandt' --grounds 'order 12'
    wren · entry 3 · change · 14 March 2026, 10:35
    ════════════════════════════════════════════════════════════════════════════════
    why             rolls freely

    SETTING            AS FOUND   AS LEFT
    ─────────────────────────────────────
    brakes.hill_hold   on         off

    Step 1 of 1: brakes at 0x03, record 0B10
    class           restricted (braking): for a qualified technician
    as found        01 7C
    as left         00 7C
    differs in      byte 0 bit 0
    caution: Try it on a level yard before any hill.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Acknowledged (braking) by Edda Brandt: order 12
    Filed as entry 3 (not yet verified). Next: read the module (brakes) again and
    file it: asfound read wren FILE --as left
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 3"), @"
    $ asfound entry wren 3
    wren · entry 3 · change · 14 March 2026, 10:35
    ════════════════════════════════════════════════════════════════════════════════
    why             rolls freely
    by              Edda Brandt
    filed           14 March 2026, 10:35
    acknowledged    braking, by Edda Brandt: order 12

    SETTING            AS FOUND   AS LEFT   PROVEN
    ──────────────────────────────────────────────
    brakes.hill_hold   on         off       stated

    Bytes
    brakes record 0B10
      as found      01 7C
      as left       00 7C

    commit          <commit>
    --- exit code 0
    ");
    // Putting it back touches the same system.
    assert_eq!(shop.refused("put-back wren 3 --done --sheet CODE --why 'as it was'").exit, 3);
    let _ = shop.run(&format!("put-back wren 3 --done --sheet CODE --why 'as it was' {given}")).done();
}
