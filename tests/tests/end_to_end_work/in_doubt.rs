//! In doubt stays in doubt until it is read.

use asfound_tests::Workshop;
use asfound_tests::json::{OrderInFull, PlanSheet, Settings, Vehicles, Work};
use insta::assert_snapshot;
use time::macros::datetime;

/// Two settings of one record are altered by a plan whose write got no answer; what was made is filed as entry 4.
fn in_doubt() -> Workshop {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("order open wren 17 --authorise body.lane_change_flashes=5 --authorise cluster.needle_sweep=on --consent 'owner, at the desk'").done();
    let _ = shop.run("change wren body.lane_change_flashes=5 --preview --save ./five.toml").done();
    let sheet: PlanSheet = shop.json("plan show ./five.toml");
    let found = sheet.plan.steps[0].write.expect.clone().expect("it was read");
    let _ = shop.run(&format!("work wren ./five.toml --found '{found}' --no-answer 'the supply went'")).done();
    let _ = shop.run("work wren ./five.toml --stop --why 'the supply went'").done();
    shop
}

#[test]
fn everybody_remembers_it() {
    let mut shop = in_doubt();
    let settings: Settings = shop.json("settings wren");
    assert_eq!(settings.in_doubt.len(), 1);
    assert_eq!((settings.in_doubt[0].entry, settings.in_doubt[0].outcome.as_str()), (4, "in-doubt"));
    let line = settings.settings.iter().find(|line| line.setting == "body.lane_change_flashes").expect("it is known");
    assert_eq!(line.in_doubt, Some(4));
    let shown = shop.run("settings wren").done();
    assert!(shown.out.contains("in doubt since entry 4"), "{shown}");
    let vehicles: Vehicles = shop.json("vehicles");
    assert_eq!(vehicles.vehicles[0].in_doubt, Some(1));
    assert!(shop.run("vehicles").done().out.contains("1 in doubt"));
    assert_snapshot!(shop.refused("change wren body.lock_by_horn=on --why 'the same record'"), @"
    $ asfound change wren body.lock_by_horn=on --why 'the same record'
    --- standard error
    asfound: nobody knows what body:0D01 (in doubt in entry 4) holds
    hint: read it first, and file the reading: `asfound read TAG FILE --partial`
    --- exit code 3
    ");
    assert_eq!(shop.refused("put-back wren 4").exit, 2, "nothing is known to be altered");
    let _ = shop.run("change wren cluster.needle_sweep=on --why 'elsewhere'").done();
    // A saved plan is shown with it, and not filed.
    let sheet: PlanSheet = shop.json("plan show ./five.toml");
    assert_eq!(sheet.in_doubt.len(), 1);
    let shown = shop.run("plan show ./five.toml").done();
    assert!(shown.out.contains("in doubt since entry 4"), "{shown}");
    assert_eq!(shop.refused("plan done ./five.toml --why x").exit, 3);
    let _ = shop.run("handover wren --out ./sheet.txt").done();
    let sheet = shop.text("sheet.txt");
    assert!(sheet.contains("In doubt and not read since: 1 step."), "{sheet}");
    let order: OrderInFull = shop.json("order close wren");
    assert_eq!(order.in_doubt.len(), 1);
    assert!(shop.run("order show wren").done().out.contains("in doubt since entry 4"));
}

#[test]
fn a_reading_of_the_record_ends_it() {
    let mut shop = in_doubt();
    shop.wait_until(datetime!(2026-04-20 16:50 +2));
    let _ = shop.run("read wren ./weeks-later.toml").done();
    let settings: Settings = shop.json("settings wren");
    assert_eq!(settings.in_doubt, []);
    assert!(settings.settings.iter().all(|line| line.in_doubt.is_none()));
    let vehicles: Vehicles = shop.json("vehicles");
    assert_eq!(vehicles.vehicles[0].in_doubt, Some(0));
    let _ = shop.run("change wren body.lock_by_horn=off --preview").done();
}

/// The walk cannot go on where the journal has moved under it; what the vehicle is can be told all the same.
#[test]
fn the_answer_is_taken_in_though_the_plan_has_become_stale() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --preview --save ./five.toml").done();
    let sheet: PlanSheet = shop.json("plan show ./five.toml");
    let write = &sheet.plan.steps[0].write;
    let (found, left) = (write.expect.clone().expect("it was read"), write.write.clone());
    let _ = shop.run(&format!("work wren ./five.toml --found '{found}' --no-answer 'the supply went'")).done();
    let _ = shop.run("change wren body.lane_change_flashes=2 --why 'a colleague, out of turn'").done();
    let bare = shop.refused("work wren ./five.toml");
    assert!(bare.exit == 3 && bare.err.contains("--read-back X"), "{bare}");
    let told = shop.refused(&format!("work wren ./five.toml --step 1 --read-back '{left}'"));
    assert!(told.exit == 3 && told.err.contains("has moved"), "{told}");
    let work: Work = shop.json("work wren ./five.toml --stop --why 'a colleague was quicker'");
    assert_eq!(work.steps[0].outcome, "read-back-as-wanted");
    let settings: Settings = shop.json("settings wren");
    assert_eq!(settings.in_doubt, [], "what it reads was told");
}
