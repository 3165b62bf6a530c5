//! Work on trial, until readings after a drive close it.

use asfound_tests::Workshop;
use asfound_tests::json::{Entries, Settings, Trials, Vehicles};
use insta::assert_snapshot;
use time::macros::datetime;

/// A reading of body and cluster, by value, with these codes in the body.
fn reading(flashes: u8, chime: &str, codes: &str, km: u32) -> String {
    format!(
        "format = \"asfound-reading/1\"\nodometer_km = {km}\n\
         [modules.body]\nsettings = {{ flashes = {flashes} }}\ntrouble_codes = [{codes}]\n\
         [modules.cluster]\nsettings = {{ chime = \"{chime}\" }}\ntrouble_codes = []\n"
    )
}

fn changed() -> Workshop {
    let mut shop = Workshop::new();
    let _ = shop.run("enrol wren").done();
    shop.write("1.toml", reading(3, "on", "", 84_000));
    let _ = shop.run("read wren ./1.toml").done();
    let _ = shop.run("change wren body.flashes=5 cluster.chime=off --why 'as the owner asked'").done();
    shop
}

#[test]
fn a_trial_waits_for_a_drive_and_for_every_altered_module() {
    let mut shop = changed();
    assert_snapshot!(shop.run("trial wren").done(), @"
    $ asfound trial wren
    wren · trials · 1 open
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          WHAT                           TRIAL
    ────────────────────────────────────────────────────────────────────────────────
        3   14 Mar 2026   change: body.flashes 3 -> 5,   open: read and scan body,
                          cluster.chime on -> off        cluster

    Drive the vehicle, then read the settings of these modules and scan them for
    trouble codes:
      · body, cluster
    Then: asfound read wren FILE
    --- exit code 0
    ");
    assert_snapshot!(shop.run("vehicles").done(), @"
    $ asfound vehicles
    VEHICLE   VIN                  ENTRIES   OPEN      LAST ENTRY    ABOUT
    ──────────────────────────────────────────────────────────────────────
    wren      –                          3   1 trial   14 Mar 2026   –
    --- exit code 0
    ");
    // Read back on the spot: proven, and still on trial.
    shop.write("2.toml", reading(5, "off", "", 84_000));
    let _ = shop.run("read wren ./2.toml --as left").done();
    let entries: Entries = shop.json("entries wren");
    let line = &entries.entries[2];
    assert_eq!((line.proof[0].level.as_str(), line.trial.as_ref().unwrap().state.as_str()), ("read-back", "open"));

    // Days later only the body is read, and it has a code that it did not have before.
    shop.wait_until(datetime!(2026-03-20 17:00 +1));
    let body = "format = \"asfound-reading/1\"\n[modules.body]\nsettings = { flashes = 5 }\ntrouble_codes = [{ code = \"B1234\" }]\n";
    shop.write("3.toml", body);
    let _ = shop.run("read wren ./3.toml --partial").done();
    assert_snapshot!(shop.run("trial wren").done(), @"
    $ asfound trial wren
    wren · trials · 1 open
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          WHAT                           TRIAL
    ─────────────────────────────────────────────────────────────────────────────
        3   14 Mar 2026   change: body.flashes 3 -> 5,   open: read and scan
                          cluster.chime on -> off        cluster; body has B1234,
                                                         new, entry 5

    Drive the vehicle, then read the settings of these modules and scan them for
    trouble codes:
      · body, cluster
    Then: asfound read wren FILE
    --- exit code 0
    ");
    let trials: Trials = shop.json("trial wren");
    assert_eq!((trials.open, trials.modules_needed), (1, vec!["body".to_owned(), "cluster".to_owned()]));

    // Everything is read, and the code is gone.
    shop.write("4.toml", reading(5, "off", "", 84_300));
    let _ = shop.run("read wren ./4.toml").done();
    assert_snapshot!(shop.run("trial wren").done(), @"
    $ asfound trial wren
    wren · trials · 0 open
    ════════════════════════════════════════════════════════════════════════════════
    No work is on trial.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("trial wren --all").done(), @"
    $ asfound trial wren --all
    wren · trials · 0 open
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          WHAT                                         TRIAL
    ────────────────────────────────────────────────────────────────────────────────
        3   14 Mar 2026   change: body.flashes 3 -> 5, cluster.chime   held, entry 6
                          on -> off
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entries wren").done(), @"
    $ asfound entries wren
    wren
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          WHAT                           PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        1   14 Mar 2026   enrolled: wren (journal        –
                          started)
        2   14 Mar 2026   reading as found: 2 modules,   –
                          2 settings by value (from
                          1.toml)
        3   14 Mar 2026   change: body.flashes 3 -> 5,   read back, entry 4; held,
                          cluster.chime on -> off (as    entry 6
                          the owner asked)
        4   14 Mar 2026   reading as left: 2 modules,    –
                          2 settings by value (from
                          2.toml)
        5   20 Mar 2026   reading check (partial): 1     –
                          module, 1 setting by value
                          (from 3.toml)
        6   20 Mar 2026   reading check: 2 modules, 2    –
                          settings by value (from
                          4.toml)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("settings wren").done(), @"
    $ asfound settings wren
    wren · settings after entry 6 · 20 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    SETTING         VALUE   FACTORY   PROVEN
    ─────────────────────────────────────────────────────────────────────
    body.flashes    5       –         entry 3, read back 4; held, entry 6
    cluster.chime   off     –         entry 3, read back 4; held, entry 6

    2 settings.
    --- exit code 0
    ");
    let settings: Settings = shop.json("settings wren");
    assert_eq!(settings.settings[0].trial.as_ref().unwrap().entry, Some(6));
    // As it was known then, it was on trial.
    let settings: Settings = shop.json("settings wren --at 4");
    assert_eq!(settings.settings[0].trial.as_ref().unwrap().state, "open");
    let vehicles: Vehicles = shop.json("vehicles");
    assert_eq!(vehicles.vehicles[0].on_trial, Some(0));
}

#[test]
fn more_kilometres_on_the_same_day_are_a_drive() {
    let mut shop = changed();
    shop.write("2.toml", reading(5, "off", "", 84_012));
    let _ = shop.run("read wren ./2.toml").done();
    let trials: Trials = shop.json("trial wren --all");
    assert_eq!((trials.open, trials.trials[0].trial.entry), (0, Some(4)));
}

#[test]
fn work_that_did_not_hold_or_was_taken_over_is_not_on_trial() {
    let mut shop = changed();
    let _ = shop.run("put-back wren 3 --done --sheet CODE --why 'not liked'").done();
    shop.wait_until(datetime!(2026-03-20 17:00 +1));
    shop.write("2.toml", reading(3, "off", "", 84_500));
    let _ = shop.run("read wren ./2.toml").done();
    assert_snapshot!(shop.run("trial wren --all").done(), @"
    $ asfound trial wren --all
    wren · trials · 0 open
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          WHAT                                 TRIAL
    ────────────────────────────────────────────────────────────────────────────────
        3   14 Mar 2026   change: body.flashes 3 -> 5,         taken over by entry 4
                          cluster.chime on -> off
        4   14 Mar 2026   put-back of entry 3: body.flashes    did not hold, entry 5
                          5 -> 3, cluster.chime off -> on
    --- exit code 0
    ");
    let _ = shop.run("trial wren").done();
}
