//! Wrong entries are answered by corrections; the entries themselves stay legible.

use asfound_tests::{Workshop, plain_git};
use insta::assert_snapshot;

#[test]
fn a_value_was_mistyped() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 body.lock_by_horn=on --why 'owner wants it'").done();
    let filed = plain_git::text(&shop.repository(), &["show", "wren:entry.toml"]);
    assert_snapshot!(shop.run("correct wren 3 body.lane_change_flashes=4 --why 'typed 5, made 4'"), @"
    $ asfound correct wren 3 body.lane_change_flashes=4 --why 'typed 5, made 4'
    wren · entry 4 · correction of entry 3 · 14 March 2026, 09:45
    ════════════════════════════════════════════════════════════════════════════════
    why             typed 5, made 4

    SETTING                    THE ENTRY SAID   IT IS
    ──────────────────────────────────────────────────
    body.lane_change_flashes   3 -> 5           3 -> 4

    Filed as entry 4. Nothing was done to the vehicle.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 3"), @"
    $ asfound entry wren 3
    wren · entry 3 · change · 14 March 2026, 09:35
    ════════════════════════════════════════════════════════════════════════════════
    why             owner wants it
    by              Edda Brandt
    filed           14 March 2026, 09:35
    note well       corrected, says entry 4

    SETTING                    AS FOUND   AS LEFT   PROVEN
    ──────────────────────────────────────────────────────
    body.lane_change_flashes   3          4         stated
    body.lock_by_horn          off        on        stated

    What it said when it was filed
    SETTING                    AS FOUND   AS LEFT
    ─────────────────────────────────────────────
    body.lane_change_flashes   3          5

    Bytes
    body record 0D01
      as found      13 03 40 56
      as left       1D 03 40 60

    commit          <commit>
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 4"), @"
    $ asfound entry wren 4
    wren · entry 4 · correction · 14 March 2026, 09:45
    ════════════════════════════════════════════════════════════════════════════════
    why             typed 5, made 4
    by              Edda Brandt
    filed           14 March 2026, 09:45
    corrects        entry 3

    SETTING                    THE ENTRY SAID   IT IS
    ──────────────────────────────────────────────────
    body.lane_change_flashes   3 -> 5           3 -> 4

    commit          <commit>
    --- exit code 0
    ");
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
        3   14 March 2026   change: body.lane_change_flashes 3    corrected, entry 4
                            -> 4, body.lock_by_horn off -> on
                            (owner wants it)
        4   14 March 2026   correction of entry 3 (typed 5,       –
                            made 4)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("settings wren --altered"), @"
    $ asfound settings wren --altered
    wren · settings after entry 4 · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                    VALUE   FACTORY   PROVEN
    ────────────────────────────────────────────────────────────
    body.lane_change_flashes   4       3         stated, entry 3
    body.lock_by_horn          on      off       stated, entry 3

    2 settings.
    --- exit code 0
    ");
    assert_eq!(plain_git::text(&shop.repository(), &["show", "wren~1:entry.toml"]), filed, "the entry itself is as filed");

    // What the vehicle says afterwards is held against the corrected value.
    shop.rewrite("as-left.toml", "read.toml", &[("3D 03 40 80", "1C 03 40 5F")]);
    let _ = shop.run("read wren ./read.toml --as left").done();
    assert_snapshot!(shop.run("entries wren body.lane_change_flashes"), @"
    $ asfound entries wren body.lane_change_flashes
    wren · body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE           AS FOUND   AS LEFT   BY              PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        2   14 March       –          3         first known     –
            2026
        3   14 March       3          4         change, Edda    read back, entry 5
            2026                                Brandt (owner
                                                wants it)
    --- exit code 0
    ");
    // And a put-back goes to what was there before the corrected entry.
    let _ = shop.run("put-back wren 3 --done --why 'as it was'").done();
    assert_eq!(shop.run("compare wren 2 6 --expect-same").exit, 0);
}

#[test]
fn the_value_as_found_was_misread() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren radio.volume=3 --was 5 --why louder").done();
    assert_snapshot!(shop.run("correct wren 3 --was radio.volume=6 --why 'misread the old value'"), @"
    $ asfound correct wren 3 --was radio.volume=6 --why 'misread the old value'
    wren · entry 4 · correction of entry 3 · 14 March 2026, 09:45
    ════════════════════════════════════════════════════════════════════════════════
    why             misread the old value

    SETTING        THE ENTRY SAID   IT IS
    ──────────────────────────────────────
    radio.volume   5 -> 3           6 -> 3

    Filed as entry 4. Nothing was done to the vehicle.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 3"), @"
    $ asfound entry wren 3
    wren · entry 3 · change · 14 March 2026, 09:35
    ════════════════════════════════════════════════════════════════════════════════
    why             louder
    by              Edda Brandt
    filed           14 March 2026, 09:35
    note well       corrected, says entry 4

    SETTING        AS FOUND   AS LEFT   PROVEN
    ──────────────────────────────────────────
    radio.volume   6          3         stated

    What it said when it was filed
    SETTING        AS FOUND   AS LEFT
    ─────────────────────────────────
    radio.volume   5          3

    Bytes
    None are known: the settings were set by name.

    commit          <commit>
    --- exit code 0
    ");
    assert_snapshot!(shop.run("put-back wren 3 --done --why 'as it was'"), @"
    $ asfound put-back wren 3 --done --why 'as it was'
    wren · entry 5 · put-back · 14 March 2026, 10:05
    ════════════════════════════════════════════════════════════════════════════════
    why             as it was

    SETTING        AS FOUND   AS LEFT
    ─────────────────────────────────
    radio.volume   3          6

    Step 1 of 1: radio, setting volume, by name
    class           caution
    as found        3
    as left         6
    caution: No definition explains this record: what else its bytes do is not
             known.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 5: stated. Next: look the setting up again (radio) and file it:
    asfound read wren FILE --as left
    --- exit code 0
    ");
}

#[test]
fn the_work_was_never_made() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    assert_snapshot!(shop.run("correct wren 3 --never-made --why 'was the other car'"), @"
    $ asfound correct wren 3 --never-made --why 'was the other car'
    wren · entry 4 · correction of entry 3: never made · 14 March 2026, 09:45
    ════════════════════════════════════════════════════════════════════════════════
    why             was the other car

    SETTING                    THE ENTRY SAID   IT IS
    ─────────────────────────────────────────────────
    body.lane_change_flashes   3 -> 5           3

    Filed as entry 4. Nothing was done to the vehicle.
    --- exit code 0
    ");
    assert_eq!(shop.run("compare wren 2 4 --expect-same").exit, 0);
    assert_snapshot!(shop.run("entry wren 3"), @"
    $ asfound entry wren 3
    wren · entry 3 · change · 14 March 2026, 09:35
    ════════════════════════════════════════════════════════════════════════════════
    why             owner wants five
    by              Edda Brandt
    filed           14 March 2026, 09:35
    note well       never made, says entry 4

    What it said when it was filed
    SETTING                    AS FOUND   AS LEFT
    ─────────────────────────────────────────────
    body.lane_change_flashes   3          5

    Bytes
    body record 0D01
      as found      13 03 40 56
      as left       15 03 40 58

    commit          <commit>
    --- exit code 0
    ");
    assert_snapshot!(shop.refused("put-back wren 3"), @"
    $ asfound put-back wren 3
    --- standard error
    asfound: entry 3 was never made, says correction 4: there is nothing to put back
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("correct wren 3 --never-made --why again"), @"
    $ asfound correct wren 3 --never-made --why again
    --- standard error
    asfound: entry 3 was corrected already: it was never made
    --- exit code 3
    ");
}

#[test]
fn a_correction_is_told_from_one_that_says_never_made() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    let _ = shop.run("correct wren 3 body.lane_change_flashes=4 --why 'typed 5, made 4'").done();
    let _ = shop.run("correct wren 3 --never-made --why 'was the other car'").done();
    let entry = shop.run("entry wren 3").done();
    assert!(entry.out.contains("note well       corrected, says entry 4\nnote well       never made, says entry 5\n"), "{entry}");
}

#[test]
fn later_entries_stand_on_it() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    let _ = shop.run("change wren body.lane_change_flashes=4 --why 'on second thoughts'").done();
    assert_snapshot!(shop.refused("correct wren 3 body.lane_change_flashes=2 --why 'typed 5, made 2'"), @"
    $ asfound correct wren 3 body.lane_change_flashes=2 --why 'typed 5, made 2'
    --- standard error
    asfound: entry 4 tells of body.lane_change_flashes again, so what entry 3 left cannot be corrected any more
    hint: correct entry 4, or file a note
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("correct wren 3 --never-made --why 'was the other car'"), @"
    $ asfound correct wren 3 --never-made --why 'was the other car'
    --- standard error
    asfound: later entries changed the same settings again
      body.lane_change_flashes: entry 3, then entry 4
    hint: correct 4 first, or file a note on entry 3
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("correct wren 4 --was body.lane_change_flashes=2 --why misread"), @"
    $ asfound correct wren 4 --was body.lane_change_flashes=2 --why misread
    --- standard error
    asfound: what body.lane_change_flashes was before entry 4 is told by an earlier entry, not by this one
    hint: correct that entry
    --- exit code 3
    ");
    let _ = shop.run("correct wren 4 --never-made --why 'was the other car'").done();
    let _ = shop.run("correct wren 3 --never-made --why 'was the other car too'").done();
    assert_eq!(shop.run("compare wren 2 6 --expect-same").exit, 0);
}

#[test]
fn corrections_of_what_an_entry_does_not_say() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    let _ = shop.run("change wren cluster:0C09='01' --one-way --why 'from the notes'").done();
    assert_snapshot!(shop.refused("correct wren 9 --never-made --why x"), @"
    $ asfound correct wren 9 --never-made --why x
    --- standard error
    asfound: the journal of `wren` has no entry 9: its last is 4
    hint: `asfound entries wren` lists them
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 --why x"), @"
    $ asfound correct wren 3 --why x
    --- standard error
    asfound: there is no correction
    hint: give SETTING=VALUE, `--was SETTING=VALUE` or `--never-made`
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 body.lane_change_flashes=4"), @"
    $ asfound correct wren 3 body.lane_change_flashes=4
    --- standard error
    asfound: an entry needs its reason, in a few words
    hint: say why with `--why TEXT`
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 body.lock_by_horn=on --why x"), @"
    $ asfound correct wren 3 body.lock_by_horn=on --why x
    --- standard error
    asfound: entry 3 says nothing of body.lock_by_horn
    hint: `asfound entries wren body.lock_by_horn` tells which entries do
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 body.lane_change_flashes=9 --why x"), @"
    $ asfound correct wren 3 body.lane_change_flashes=9 --why x
    --- standard error
    asfound: body.lane_change_flashes: `9` cannot be stored; the largest that can is 7
    hint: `asfound explain body.lane_change_flashes` says what it may be
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 body:0D01='15 03 40 58' --why x"), @"
    $ asfound correct wren 3 body:0D01='15 03 40 58' --why x
    --- standard error
    asfound: a correction is about a setting, not about body:0D01
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 2 --never-made --why x"), @"
    $ asfound correct wren 2 --never-made --why x
    --- standard error
    asfound: entry 2 is no work that could be never made
    hint: only changes and put-backs can be; answer others by a note
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 4 --never-made --why x"), @"
    $ asfound correct wren 4 --never-made --why x
    --- standard error
    asfound: what entry 4 altered was not known before, so the journal has nothing to take its place
    hint: read the vehicle and file it: the reading then stands against entry 4; or file a note
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("correct wren 3 body.lane_change_flashes=5 --why 'no difference'"), @"
    $ asfound correct wren 3 body.lane_change_flashes=5 --why 'no difference'
    --- standard error
    asfound: there is nothing to do: everything is already as wanted
    --- exit code 2
    ");
}

#[test]
fn a_reading_is_corrected() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("read wren --value body.lane_change_flashes=4 --partial --why 'looked at the screen'").done();
    assert_snapshot!(shop.run("correct wren 3 body.lane_change_flashes=5 --why 'misread the screen'"), @"
    $ asfound correct wren 3 body.lane_change_flashes=5 --why 'misread the screen'
    wren · entry 4 · correction of entry 3 · 14 March 2026, 09:45
    ════════════════════════════════════════════════════════════════════════════════
    why             misread the screen

    SETTING                    THE ENTRY SAID   IT IS
    ──────────────────────────────────────────────────
    body.lane_change_flashes   3 -> 4           3 -> 5

    Filed as entry 4. Nothing was done to the vehicle.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 3"), @"
    $ asfound entry wren 3
    wren · entry 3 · reading · 14 March 2026, 09:35
    ════════════════════════════════════════════════════════════════════════════════
    why             looked at the screen
    by              Edda Brandt
    filed           14 March 2026, 09:35
    role            check
    covers          1 module, 1 setting by value; partial
    odometer        –
    supply voltage  –
    taken with      –
    taken by        –
    note well       corrected, says entry 4

    SETTING                    AS FOUND   AS LEFT   PROVEN
    ──────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3          5         another hand, settings altered

    What it said when it was filed
    SETTING                    AS FOUND   AS LEFT
    ─────────────────────────────────────────────
    body.lane_change_flashes   3          4

    commit          <commit>
    --- exit code 0
    ");
}
