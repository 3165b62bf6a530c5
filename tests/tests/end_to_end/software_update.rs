//! A module's software is updated: another definition fits, a record is one byte longer, and an old change is put back
//! through the new layout.

use asfound_tests::Workshop;
use asfound_tests::json::{Comparison, Entry, Life, ReadingFiled, WorkFiled};
use insta::assert_snapshot;
use time::macros::datetime;

/// `wren` with flashes 3 -> 5 in entry 3, read back in entry 4, then with new software in entry 5.
fn updated() -> Workshop {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    shop.rewrite("as-left.toml", "left.toml", &[("3D 03 40 80", "15 03 40 58")]);
    shop.wait_until(datetime!(2026-03-14 11:10 +1));
    let _ = shop.run("read wren ./left.toml --as left").done();
    // One more byte in front; flashes now in bits 4 to 6 of byte 1, unlocking in bit 1. The dealer also turned the
    // horn on (bit 0). Sum of the first four bytes: 00 + 53 + 03 + 40 = 96.
    shop.rewrite(
        "weeks-later.toml",
        "updated.toml",
        &[
            ("software = \"0210\"", "software = \"0300\""),
            ("3D 04 41 82", "00 53 03 40 96"),
            ("0C01 = \"01\"", "0C01 = \"00\""),
        ],
    );
    shop.wait_until(datetime!(2026-04-20 16:50 +2));
    shop
}

#[test]
fn the_reading_says_so() {
    let mut shop = updated();
    assert_snapshot!(shop.run("read wren ./updated.toml"), @"
    $ asfound read wren ./updated.toml
    wren · entry 5 · reading check · 14 March 2026, 11:20
    ════════════════════════════════════════════════════════════════════════════════
    odometer        85977 km
    supply voltage  12.4 V
    taken with      bench reader
    covers          3 modules, 4 records, 1 record refused
    records         3 same, 1 changed, of those known before

    Another hand: modules are not what they were
      · body: software 0210 -> 0300

    Differs from the last known state
    SETTING             AS FOUND   NOW   ACCOUNTED FOR BY
    ───────────────────────────────────────────────────────────────────
    body.lock_by_horn   off        on    another hand, software updated

    When another hand was there
      · body: between 14 March 2026, 09:45 (entry 4) and 14 March 2026, 11:20, 84212
        km and 85977 km

    Bytes that differ
        body record 0D01
          as found  [15   ] 03 40 [58]
          as left   [00 53] 03 40 [96]

    Filed as entry 5. 1 setting is known for the first time.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 5"), @"
    $ asfound entry wren 5
    wren · entry 5 · reading · 14 March 2026, 11:20
    ════════════════════════════════════════════════════════════════════════════════
    why             from updated.toml
    by              Edda Brandt
    filed           20 April 2026, 16:50
    role            check
    covers          3 modules, 4 records, 1 record refused
    odometer        85977 km
    supply voltage  12.4 V
    taken with      bench reader
    taken by        Jorun Lind

    Modules that are not what they were
      · body: software 0210 -> 0300

    SETTING             AS FOUND   AS LEFT   PROVEN
    ───────────────────────────────────────────────────────────────────────
    body.lock_by_horn   off        on        another hand, software updated

    1 setting is known here for the first time.

    commit          <commit>
    --- exit code 0
    ");
    assert_snapshot!(shop.run("compare wren 4 5"), @"
    $ asfound compare wren 4 5
    comparison · entry 4 · entry 5
    ════════════════════════════════════════════════════════════════════════════════
    SETTING             ENTRY 4   ENTRY 5
    ─────────────────────────────────────
    body software       0210      0300
    body.lock_by_horn   off       on

    Bytes that differ
        body record 0D01
          as found  [15   ] 03 40 [58]
          as left   [00 53] 03 40 [96]

    Trouble codes: not examined in any module.

    Records, module by module
    MODULE    SAME   CHANGED   NOT READ   REFUSED   BYTES COMPARED   VOLATILE
    ─────────────────────────────────────────────────────────────────────────
    body         1         1          0         0                6          2
    brakes       1         0          0         0                2          0
    cluster      1         0          0         1                1          0
    Laid out by another definition on each side, so compared by setting: body
    --- exit code 0
    ");
    assert_snapshot!(shop.run("settings wren --module body"), @"
    $ asfound settings wren --module body
    wren · settings after entry 5 · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    SETTING                    VALUE     FACTORY   PROVEN
    ─────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   5         3         entry 3, read back 4; on trial
    body.lock_at_speed         off       same      as read, entry 5
    body.lock_by_horn          on        off       another hand, seen 5
    body.lock_speed            15 km/h   same      as read, entry 5
    body.relock_delay          short     same      as read, entry 5
    body.unlock_on_key_out     on        same      as read, entry 5
    body.welcome_light         off       same      as read, entry 5

    7 settings.
    --- exit code 0
    ");
}

#[test]
fn an_old_change_is_put_back_through_the_new_definition() {
    let mut shop = updated();
    let reading: ReadingFiled = shop.json("read wren ./updated.toml");
    let identities: Vec<_> =
        reading.identities.iter().map(|one| (one.module.as_str(), one.what.as_str(), one.left.as_str())).collect();
    assert_eq!(identities, [("body", "software", "0300")]);
    let hand: Vec<_> = reading.differences.iter().map(|one| one.field.as_str()).collect();
    assert_eq!(hand, ["body.lock_by_horn"], "what moved to other bits is no difference");

    let filed: WorkFiled = shop.json("put-back wren 3 --done --sheet CODE --why 'three again'");
    let step = &filed.plan.steps[0];
    assert_eq!(step.definition.as_deref(), Some("aviary-body-2"));
    assert_eq!(step.write.expect.as_deref(), Some("00 53 03 40 96"));
    let remark = "Since entry 5 the module has another layout or other software: the settings are written through \
                  aviary-body-2.";
    assert_eq!(step.remarks, [remark]);
    // Flashes 3 in bits 4 to 6 of byte 1: 33. The sum: 00 + 33 + 03 + 40 = 76.
    assert_eq!(step.write.write, "00 33 03 40 76");

    shop.rewrite("updated.toml", "after.toml", &[("00 53 03 40 96", "00 33 03 40 76")]);
    shop.wait_until(datetime!(2026-04-20 17:30 +2));
    let after: ReadingFiled = shop.json("read wren ./after.toml --as left");
    assert_eq!((after.differences.len(), after.read_back.len()), (0, 1));
    let life: Life = shop.json("entries wren body.lane_change_flashes");
    let steps: Vec<_> = life
        .steps
        .iter()
        .map(|step| (step.entry, step.left.text.as_str(), step.left.definition.as_deref().unwrap()))
        .collect();
    assert_eq!(steps, [(2, "3", "aviary-body-1"), (3, "5", "aviary-body-1"), (6, "3", "aviary-body-2"),]);
    let compared: Comparison = shop.json("compare wren 2 7");
    assert!(compared.modules[0].settings.iter().all(|one| one.setting != "body.lane_change_flashes"));
    assert!(compared.modules[0].records[0].layout_changed);
}

#[test]
fn the_old_layout_can_be_told_without_the_garages_definitions() {
    let mut shop = updated();
    let _ = shop.run("read wren ./updated.toml").done();
    let with = [shop.run("settings wren").done().out, shop.run("settings wren --at 4").done().out];
    std::fs::remove_dir_all(shop.garage().join("definitions")).unwrap();
    let without = [shop.run("settings wren").done().out, shop.run("settings wren --at 4").done().out];
    assert_eq!(with, without, "entries carry the definitions that explain them");
}

#[test]
fn a_unit_is_swapped() {
    let mut shop = Workshop::after_work();
    shop.rewrite("weeks-later.toml", "swapped.toml", &[("B-000731", "B-004402"), ("3D 04 41 82", "13 03 40 56")]);
    shop.wait_until(datetime!(2026-04-20 16:50 +2));
    assert_snapshot!(shop.run("read wren ./swapped.toml"), @"
    $ asfound read wren ./swapped.toml
    wren · entry 7 · reading check · 14 March 2026, 11:20
    ════════════════════════════════════════════════════════════════════════════════
    odometer        85977 km
    supply voltage  12.4 V
    taken with      bench reader
    covers          3 modules, 4 records, 1 record refused
    records         2 same, 2 changed, of those known before

    Another hand: modules are not what they were
      · body: serial B-000731 -> B-004402

    Differs from the last known state
    SETTING                    AS FOUND   NOW   ACCOUNTED FOR BY
    ──────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   5          3     another hand, unit swapped
    body.lock_at_speed         on         off   another hand, unit swapped
    body.lock_by_horn          on         off   another hand, unit swapped
    cluster.needle_sweep       off        on    another hand, settings altered

    When another hand was there
      · body, cluster: between 14 March 2026, 11:05 (entry 6) and 14 March 2026,
        11:20, 84212 km and 85977 km

    Bytes that differ
        body record 0D01
          as found  [3D] 03 40 [80]
          as left   [13] 03 40 [56]
        cluster record 0C01
          as found  [00]
          as left   [01]

    Filed as entry 7.
    --- exit code 0
    ");
    let entry: Entry = shop.json("entry wren 7");
    assert_eq!(entry.identities[0].what, "serial");
}
