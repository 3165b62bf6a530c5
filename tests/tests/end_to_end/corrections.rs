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
    ENTRY   DATE          WHAT                                    PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        1   14 Mar 2026   enrolled: wren (journal started)        –
        2   14 Mar 2026   reading as found: 3 modules, 4          –
                          records (from as-found.toml)
        3   14 Mar 2026   change: body.lane_change_flashes 3 ->   corrected, entry 4
                          4, body.lock_by_horn off -> on (owner
                          wants it)
        4   14 Mar 2026   correction of entry 3 (typed 5, made    –
                          4)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("settings wren --altered"), @"
    $ asfound settings wren --altered
    wren · settings after entry 4 · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                    VALUE   FACTORY   PROVEN
    ──────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   4       3         stated, entry 3; on trial
    body.lock_by_horn          on      off       stated, entry 3; on trial

    2 settings.
    --- exit code 0
    ");
    assert_eq!(
        plain_git::text(&shop.repository(), &["show", "wren~1:entry.toml"]),
        filed,
        "the entry itself is as filed"
    );

    // What the vehicle says afterwards is held against the corrected value.
    shop.rewrite("as-left.toml", "read.toml", &[("3D 03 40 80", "1C 03 40 5F")]);
    let _ = shop.run("read wren ./read.toml --as left").done();
    assert_snapshot!(shop.run("entries wren body.lane_change_flashes"), @"
    $ asfound entries wren body.lane_change_flashes
    wren · body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          AS FOUND   AS LEFT   BY              PROVEN
    ─────────────────────────────────────────────────────────────────────────────
        2   14 Mar 2026   –          3         first known     –
        3   14 Mar 2026   3          4         change, Edda    read back, entry 5
                                               Brandt (owner
                                               wants it)
    --- exit code 0
    ");
    // And a put-back goes to what was there before the corrected entry.
    let _ = shop.run("put-back wren 3 --done --sheet CODE --why 'as it was'").done();
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
    assert_snapshot!(shop.run("put-back wren 3 --done --sheet CODE --why 'as it was'"), @"
    $ asfound put-back wren 3 --done --sheet 1QWP-H6A7 --why 'as it was'
    wren · entry 5 · put-back · 14 March 2026, 10:05
    ════════════════════════════════════════════════════════════════════════════════
    why             as it was

    SETTING        AS FOUND   AS LEFT
    ─────────────────────────────────
    radio.volume   3          6

    Step 1 of 1: radio, setting volume, by name
    class           not known: with at least as much care as caution
    as found        3
    as left         6
    caution: No definition explains this setting: what else it acts on is not known.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 5 (not yet verified). Next: look the setting up (radio) again and
    file it: asfound read wren FILE --as left
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
    assert!(
        entry.out.contains("note well       corrected, says entry 4\nnote well       never made, says entry 5\n"),
        "{entry}"
    );
}

#[test]
fn what_is_true_need_not_be_permitted() {
    let mut shop = Workshop::with_wren();
    // A change cannot set seven flashes; a vehicle may have them all the same.
    let _ = shop.refused("change wren body.lane_change_flashes=7 --why seven");
    let _ = shop.run("correct wren 2 body.lane_change_flashes=7 --why 'misread the sheet'").done();
    let settings = shop.run("settings wren --module body").done();
    assert!(settings.out.contains("body.lane_change_flashes   7 "), "{settings}");
}

#[test]
fn a_rule_between_settings_is_about_work_and_not_about_what_is_there() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lock_at_speed=on --why 'children in the back'").done();
    // Doors that lock by themselves and do not unlock by themselves are against the definition's rule, but so they are.
    let _ = shop.refused("change wren body.unlock_on_key_out=off --why off");
    let _ = shop.run("correct wren 2 body.unlock_on_key_out=off --why 'misread the sheet'").done();
    // Further work elsewhere goes on; the plan says that the rule is broken already.
    let plan = shop.run("change wren body.lock_by_horn=on --preview").done();
    assert!(plan.out.contains("the rule speed-lock-needs-unlock is broken already"), "{plan}");
}

#[test]
fn work_that_was_read_back_was_made() {
    let mut shop = Workshop::after_work();
    assert_snapshot!(shop.refused("correct wren 3 --never-made --why 'was the other car'"), @"
    $ asfound correct wren 3 --never-made --why 'was the other car'
    --- standard error
    asfound: a later reading shows that the work in entry 3 was made
      body.lane_change_flashes: read back in entry 6
    hint: if that reading is wrong, read the vehicle again and file it; or file a
          note on entry 3
    --- exit code 3
    ");
}

#[test]
fn work_under_a_later_change_was_never_made() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    let _ = shop.run("change wren body.lane_change_flashes=4 --why 'on second thoughts'").done();
    assert_snapshot!(shop.run("correct wren 3 --never-made --why 'was the other car'"), @"
    $ asfound correct wren 3 --never-made --why 'was the other car'
    wren · entry 5 · correction of entry 3: never made · 14 March 2026, 09:55
    ════════════════════════════════════════════════════════════════════════════════
    why             was the other car

    SETTING                    THE ENTRY SAID   IT IS
    ─────────────────────────────────────────────────
    body.lane_change_flashes   3 -> 5           4

    Filed as entry 5. Nothing was done to the vehicle.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entries wren body.lane_change_flashes"), @"
    $ asfound entries wren body.lane_change_flashes
    wren · body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          AS FOUND   AS LEFT   BY                        PROVEN
    ───────────────────────────────────────────────────────────────────────────
        2   14 Mar 2026   –          3         first known               –
        4   14 Mar 2026   3          4         change, Edda Brandt (on   stated
                                               second thoughts)
    --- exit code 0
    ");
    let _ = shop.run("put-back wren 4 --done --sheet CODE --why 'as it was'").done();
    assert_eq!(shop.run("compare wren 2 6 --expect-same").exit, 0);
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
