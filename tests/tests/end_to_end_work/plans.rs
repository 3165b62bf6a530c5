//! Plans that are saved, shown, found out of date, and filed.

use asfound_tests::Workshop;
use asfound_tests::json::{Entry, PlanSheet, WorkFiled};
use insta::assert_snapshot;
use time::macros::datetime;

#[test]
fn a_plan_is_saved_and_shown_as_a_work_sheet() {
    let mut shop = Workshop::after_another_hand();
    assert_snapshot!(shop.run("put-back wren 4 --save ./back.toml").done(), @"");
    let shown = shop.run("plan show ./back.toml").done();
    assert!(!shown.out.contains("Saved as"), "{shown}");
    assert!(shown.out.contains("2E 0D 01"), "{shown}");
    let refused = shop.refused("put-back wren 4 --save ./back.toml");
    assert_eq!(refused.exit, 2);
    assert!(refused.err.contains("is not written over"), "{refused}");
    let text = shop.text("back.toml");
    let id = text.lines().find(|line| line.starts_with("id = ")).expect("it has an id").to_owned();
    let shown = text.replace(&id, "id = \"…\"");
    assert_snapshot!(shown, @"");
}

/// Bits in a step that nobody reads aloud are written as requests: service identifiers as in udsoncan 1.26.1's tables.
#[test]
fn the_sheet_in_json_holds_requests_and_outlooks() {
    let mut shop = Workshop::with_wren();
    shop.wait_until(datetime!(2026-10-20 09:00 +2));
    let sheet: PlanSheet = shop.json("change wren body.lane_change_flashes=5 --preview");
    let requests = sheet.plan.steps[0].requests.as_ref().expect("the record has a data identifier");
    assert_eq!((requests.read.as_str(), requests.write.as_str()), ("22 0D 01", "2E 0D 01 15 03 40 58"));
    assert_eq!(sheet.preview[0].outlook, "cannot-tell");
    assert_eq!(sheet.preview[0].last_read.as_ref().expect("it was read long ago").age, "7 months ago");
    let _ = shop.run("read wren ./as-found.toml").done();
    let sheet: PlanSheet = shop.json("change wren body.lane_change_flashes=5 cluster.needle_sweep=off --preview");
    let outlooks: Vec<_> = sheet.preview.iter().map(|line| (line.field.as_str(), line.outlook.as_str())).collect();
    assert_eq!(outlooks, [("body.lane_change_flashes", "will-change"), ("cluster.needle_sweep", "as-wanted")]);
    let sheet: PlanSheet = shop.json("change wren radio.bass=4 --was 3 --preview");
    assert_eq!(sheet.preview[0].outlook, "cannot-tell");
    assert_eq!(sheet.plan.steps[0].requests, None);
}

#[test]
fn an_old_reading_tells_nothing() {
    let mut shop = Workshop::with_wren();
    shop.wait_until(datetime!(2026-10-20 09:00 +2));
    assert_snapshot!(shop.run("change wren body.lane_change_flashes=5 body.relock_delay=long --preview").done(), @"");
}

#[test]
fn moves_elsewhere_do_not_matter_and_others_are_named() {
    let mut shop = Workshop::after_another_hand();
    let _ = shop.run("put-back wren 4 --save ./back.toml").done();
    let _ = shop.run("change wren cluster.needle_sweep=off --why 'elsewhere'");
    let _ = shop.run("change wren body.lane_change_flashes=2 --why 'the same record, another setting'").done();
    let sheet: PlanSheet = shop.json("plan show ./back.toml");
    assert_eq!(sheet.plan.steps.len(), 1);
    assert_eq!(sheet.remarks.len(), 1, "the bytes are others than those that were saved");
    let _ = shop.run("change wren body.lock_by_horn=off --why 'out of turn'").done();
    assert_snapshot!(shop.refused("plan show ./back.toml"), @"");
    let refused = shop.refused("plan done ./back.toml --why 'as it was'");
    assert_eq!(refused.exit, 3);
    let refused = shop.refused("work wren ./back.toml");
    assert_eq!(refused.exit, 3);
}

#[test]
fn a_plan_is_filed_as_carried_out_once() {
    let mut shop = Workshop::after_another_hand();
    let _ = shop.run("put-back wren 4 --save ./back.toml").done();
    let filed: WorkFiled = shop.json("plan done ./back.toml --why 'neighbours complain'");
    assert_eq!((filed.entry.number, filed.entry.kind.as_str()), (8, "put-back"));
    let entry: Entry = shop.json("entry wren 8");
    let text = shop.text("back.toml");
    assert!(text.contains(&format!("id = \"{}\"", entry.plan.expect("the entry names the plan"))));
    assert_snapshot!(shop.refused("plan show ./back.toml"), @"");
    assert_eq!(shop.refused("plan done ./back.toml --why again").exit, 1);
}

#[test]
fn a_return_takes_back_what_it_was_made_for_and_no_more() {
    let mut shop = Workshop::after_another_hand();
    let _ = shop.run("return-to wren 2 --save ./back.toml").done();
    let before: PlanSheet = shop.json("plan show ./back.toml");
    let _ = shop.run("change wren body.relock_delay=long --why 'later, and elsewhere'").done();
    let after: PlanSheet = shop.json("plan show ./back.toml");
    let fields = |sheet: &PlanSheet| -> Vec<String> { sheet.preview.iter().map(|line| line.field.clone()).collect() };
    assert_eq!(fields(&before), fields(&after));
    assert!(!fields(&after).contains(&"body.relock_delay".to_owned()));
}

#[test]
fn restricted_work_keeps_its_acknowledgement() {
    let mut shop = Workshop::with_wren();
    let refused = shop.refused("change wren brakes.hill_hold=off --preview --save ./hold.toml");
    assert_eq!(refused.exit, 3);
    assert!(!shop.folder().join("hold.toml").exists());
    let acknowledged = "--acknowledge braking --acknowledged-by 'E. Brandt' --grounds 'order 17'";
    let _ = shop.run(&format!("change wren brakes.hill_hold=off --preview --save ./hold.toml {acknowledged}")).done();
    let _ = shop.run("plan done ./hold.toml --why 'order 17'").done();
    let entry: Entry = shop.json("entry wren 3");
    assert_eq!(entry.acknowledgements.expect("it is work")[0].grounds, "order 17");
}

#[test]
fn every_problem_of_a_plan_file_is_named() {
    let mut shop = Workshop::after_another_hand();
    let _ = shop.run("put-back wren 4 --save ./back.toml").done();
    shop.rewrite(
        "back.toml",
        "bad.toml",
        &[
            ("stands_on = 7", "stands_on = 0\nstandson = 7"),
            ("entries = [4]", "entries = [\"4\"]"),
            ("write_request = \"2E 0D 01", "write_request = \"2E 0D 02"),
            ("class = \"", "class = \"in"),
        ],
    );
    assert_snapshot!(shop.refused("plan show ./bad.toml"), @"");
    shop.rewrite("back.toml", "newer.toml", &[("asfound-plan/1", "asfound-plan/2")]);
    assert_snapshot!(shop.refused("plan show ./newer.toml"), @"");
    assert_eq!(shop.refused("plan show ./as-found.toml").exit, 2);
    let _ = shop.run("enrol plover --vin ZZ9WRENA9T2000017");
    assert!(shop.refused("work plover ./back.toml").err.contains("the plan is for `wren`"));
}
