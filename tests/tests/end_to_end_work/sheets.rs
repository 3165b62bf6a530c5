//! What is filed as done is what was on the sheet.

use asfound_tests::Workshop;
use asfound_tests::json::{PlanSheet, WorkFiled};
use insta::assert_snapshot;

/// The code that a sheet bears.
fn code(shop: &mut Workshop, shows: &str) -> String {
    let sheet: PlanSheet = shop.json(shows);
    sheet.sheet.expect("something is to be done")
}

#[test]
fn a_colleague_who_moves_a_sibling_setting_stops_the_filing() {
    let mut shop = Workshop::after_another_hand();
    let sheet = code(&mut shop, "put-back wren 4");
    assert!(shop.run("put-back wren 4").done().out.contains(&sheet));
    let _ = shop.run("change wren cluster.needle_sweep=off --why 'another record: no matter'");
    assert_eq!(code(&mut shop, "put-back wren 4"), sheet);
    let _ = shop.run("change wren body.lane_change_flashes=2 --why 'the same record'").done();
    assert_snapshot!(shop.refused(&format!("put-back wren 4 --done --sheet {sheet} --why 'as it was'")), @"
    $ asfound put-back wren 4 --done --sheet RH1H-4KJQ --why 'as it was'
    --- standard error
    asfound: the steps are not those on the sheet any more: entry 9 moved them
      body:0D01: the sheet says look for 3D 04 41 82, write 35 04 41 7A; now it is:
        look for 3A 04 41 7F, write 32 04 41 77
    hint: what was written by that sheet is not what would be filed: read the
          records and file the reading (asfound read wren FILE --as left); or plan
          anew, work by the new sheet and give its code
    --- exit code 3
    ");
    // By the new sheet it is filed.
    let sheet = code(&mut shop, "put-back wren 4");
    let typed = sheet.to_lowercase().replace('-', " ");
    let filed: WorkFiled = shop.json(&format!("put-back wren 4 --done --sheet '{typed}' --why 'as it was'"));
    assert_eq!(filed.entry.kind, "put-back");
}

#[test]
fn without_a_code_nothing_is_filed_as_done() {
    let mut shop = Workshop::after_another_hand();
    assert_snapshot!(shop.refused("put-back wren 4 --done --why 'as it was'"), @"
    $ asfound put-back wren 4 --done --why 'as it was'
    --- standard error
    asfound: it is not said which work sheet was followed
    hint: say `--sheet CODE` with the code that stands on it; the sheet as it is
          now: asfound put-back wren 4
    --- exit code 2
    ");
    for command in ["return-to wren 2", "match wren plover body.lane_change_flashes"] {
        if command.starts_with("match") {
            let _ = shop.run("enrol plover").done();
            shop.rewrite("as-found.toml", "plover.toml", &[("\"wren\"", "\"plover\"")]);
            let _ = shop.run("read plover ./plover.toml").done();
        }
        let refused = shop.refused(&format!("{command} --done --why x"));
        assert!(refused.exit == 2 && refused.err.contains("--sheet CODE"), "{refused}");
    }
    // A slip, the code of another vehicle's sheet, and one that no sheet had.
    assert_eq!(shop.refused("put-back wren 4 --done --sheet 7Q4M-9X2G --why x").exit, 2);
    assert_snapshot!(shop.refused("put-back wren 4 --done --sheet 0000-0000 --why x"), @"
    $ asfound put-back wren 4 --done --sheet 0000-0000 --why x
    --- standard error
    asfound: the steps are not those on the sheet 0000-0000; they are now:
      body:0D01: look for 3D 04 41 82, write 35 04 41 7A
    hint: what was written by that sheet is not what would be filed: read the
          records and file the reading (asfound read wren FILE --as left); or plan
          anew, work by the new sheet and give its code
    --- exit code 3
    ");
}

#[test]
fn a_saved_plan_is_its_own_sheet() {
    let mut shop = Workshop::after_another_hand();
    let _ = shop.run("put-back wren 4 --save ./back.toml").done();
    let _ = shop.run("change wren body.lane_change_flashes=2 --why 'the same record'").done();
    assert_snapshot!(shop.refused("plan done ./back.toml --why 'as it was'"), @"
    $ asfound plan done ./back.toml --why 'as it was'
    --- standard error
    asfound: the steps are not those on the sheet
      body:0D01: the sheet says look for 3D 04 41 82, write 35 04 41 7A; now it is:
        look for 3A 04 41 7F, write 32 04 41 77
    hint: what was written by that sheet is not what would be filed: read the
          records and file the reading (asfound read wren FILE --as left); or plan
          anew, work by the new sheet and give its code
    --- exit code 3
    ");
    let sheet = code(&mut shop, "plan show ./back.toml");
    let shown = shop.run("plan show ./back.toml").done();
    assert!(shown.out.contains(&format!("plan done ./back.toml --sheet {sheet}")), "{shown}");
    let filed: WorkFiled = shop.json(&format!("plan done ./back.toml --sheet {sheet} --why 'as it was'"));
    assert_eq!(filed.entry.kind, "put-back");
}

#[test]
fn a_change_may_be_held_against_its_preview() {
    let mut shop = Workshop::after_another_hand();
    let change = "change wren body.lock_by_horn=off";
    let sheet = code(&mut shop, &format!("{change} --preview"));
    let _ = shop.run("change wren body.lane_change_flashes=2 --why 'the same record'").done();
    let refused = shop.refused(&format!("{change} --sheet {sheet} --why quieter"));
    assert!(refused.exit == 3 && refused.err.contains("entry 8 moved them"), "{refused}");
    let _ = shop.run(&format!("{change} --why quieter")).done();
}
