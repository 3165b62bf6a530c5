//! Plans that are saved, shown, found out of date, and filed.

use asfound_tests::Workshop;
use asfound_tests::json::{Entry, PlanSheet, Work, WorkFiled};
use insta::assert_snapshot;
use time::macros::datetime;

#[test]
fn a_plan_is_saved_and_shown_as_a_work_sheet() {
    let mut shop = Workshop::after_another_hand();
    assert_snapshot!(shop.run("put-back wren 4 --save ./back.toml").done(), @"
    $ asfound put-back wren 4 --save ./back.toml
    wren · put back entry 4 · not carried out yet · stands on entry 7
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
    look for        3D 04 41 82
      request       22 0D 01
    write           35 04 41 7A
      request       2E 0D 01 35 04 41 7A
    differs in      byte 0 bit 3, byte 3 bits 3-7
    by name         lock_by_horn on -> off
    then read       35 04 41 7A
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Saved as ./back.toml.
    To go through it step by step: asfound work wren ./back.toml
    Code of this sheet: RH1H-4KJQ
    When every step is made: asfound plan done ./back.toml --why TEXT
    --- exit code 0
    ");
    let shown = shop.run("plan show ./back.toml").done();
    assert!(!shown.out.contains("Saved as"), "{shown}");
    assert!(shown.out.contains("2E 0D 01"), "{shown}");
    let refused = shop.refused("put-back wren 4 --save ./back.toml");
    assert_eq!(refused.exit, 2);
    assert!(refused.err.contains("is not written over"), "{refused}");
    let text = shop.text("back.toml");
    let id = text.lines().find(|line| line.starts_with("id = ")).expect("it has an id").to_owned();
    let shown = text.replace(&id, "id = \"…\"");
    assert_snapshot!(shown, @r#"
    # A plan that was not carried out when it was saved.
    #   asfound plan show FILE                 the work sheet, from the journal as it is now
    #   asfound work VEHICLE FILE              walk its steps
    #   asfound plan done FILE --why TEXT      file it as carried out
    # The wish counts; the steps are for people and other programs.

    format = "asfound-plan/1"
    id = "…"
    vehicle = "wren"
    made = "2026-04-20T17:00:00+02:00"
    stands_on = 7

    [wish.put_back]
    entries = [4]

    [fields]
    settings = ["body.lock_by_horn"]

    [[steps]]
    module = "body"
    address = "0x0E"
    record = "0D01"
    expect = "3D 04 41 82"
    write = "35 04 41 7A"
    read_request = "22 0D 01"
    write_request = "2E 0D 01 35 04 41 7A"
    class = "caution"
    cautions = ["Close the doors before the write; the module locks them when it restarts."]
    definition = "aviary-body-1"

    [[steps.settings]]
    setting = "lock_by_horn"
    found = "on"
    left = "off"
    "#);
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
    shop.rewrite("as-found.toml", "later.toml", &[("2026-03-14T09:20:00+01:00", "2026-10-20T09:10:00+02:00")]);
    let _ = shop.run("read wren ./later.toml").done();
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
    assert_snapshot!(shop.run("change wren body.lane_change_flashes=5 body.relock_delay=long --preview").done(), @"
    $ asfound change wren body.lane_change_flashes=5 body.relock_delay=long --preview
    wren · change · not carried out yet · stands on entry 2
    ════════════════════════════════════════════════════════════════════════════════

    For every step
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    SETTING                    AS FOUND   AS LEFT   WILL IT CHANGE
    ────────────────────────────────────────────────────────────────────────────────
    body.lane_change_flashes   3          5         cannot tell: last read 7 months
                                                    ago (entry 2)
    body.relock_delay          short      long      cannot tell: last read 7 months
                                                    ago (entry 2)

    Step 1 of 2: body at 0x0E, record 0D01
    class           caution
    look for        13 03 40 56
      request       22 0D 01
    write           15 03 40 58
      request       2E 0D 01 15 03 40 58
    differs in      byte 0 bits 1-2, byte 3 bits 1-3
    by name         lane_change_flashes 3 -> 5
    then read       15 03 40 58
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Step 2 of 2: body at 0x0E, record 0D02
    class           routine
    look for        00 17 01
      request       22 0D 02
    write           00 17 02
      request       2E 0D 02 00 17 02
    differs in      byte 2 bits 0-1
    by name         relock_delay short -> long
    then read       00 17 02
    of no account   byte 0, byte 1, which changes by itself: written as found
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Code of this sheet: R9MH-PS3S
    When every step is made: say the same without `--preview` and with `--sheet
    R9MH-PS3S`
    --- exit code 0
    ");
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
    assert_snapshot!(shop.refused("plan show ./back.toml"), @"
    $ asfound plan show ./back.toml
    --- standard error
    asfound: the plan stands on entry 7, and the journal has moved on in what it
             touches
      body.lock_by_horn: entry 10
    hint: look at it (asfound entry wren 10), and plan anew
    --- exit code 3
    ");
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
    assert_snapshot!(shop.refused("plan show ./back.toml"), @"
    $ asfound plan show ./back.toml
    --- standard error
    asfound: nothing is left of the plan: it was carried out in entry 8
    --- exit code 1
    ");
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
    let acknowledged = "--acknowledge braking --acknowledged-by 'E. Brandt' --grounds 'order 17'";
    let _ = shop.run(&format!("change wren brakes.hill_hold=off --preview --save ./hold.toml {acknowledged}")).done();
    let _ = shop.run("plan done ./hold.toml --why 'order 17'").done();
    let entry: Entry = shop.json("entry wren 3");
    assert_eq!(entry.acknowledgements.expect("it is work")[0].grounds, "order 17");
}

/// A plan can be looked at, saved and shown without an acknowledgement; to walk it or to file it, one is asked for.
#[test]
fn restricted_work_can_be_looked_at_before_it_is_acknowledged() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.run("change wren brakes.hill_hold=off --preview --save ./hold.toml"), @"
    $ asfound change wren brakes.hill_hold=off --preview --save ./hold.toml
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

    Saved as ./hold.toml.
    To go through it step by step: asfound work wren ./hold.toml --acknowledge
    braking --acknowledged-by NAME --grounds TEXT
    Code of this sheet: HPEF-J45X
    When every step is made: asfound plan done ./hold.toml --why TEXT
    --acknowledge braking --acknowledged-by NAME --grounds TEXT
    --- exit code 0
    ");
    let sheet: PlanSheet = shop.json("plan show ./hold.toml");
    assert_eq!(sheet.acknowledgements_missing, ["braking"]);
    let refused = shop.refused("plan done ./hold.toml --why 'order 17'");
    assert!(refused.exit == 3 && refused.err.contains("restricted system (braking)"), "{refused}");
    assert_eq!(shop.refused("work wren ./hold.toml").exit, 3);
    let acknowledged = "--acknowledge braking --acknowledged-by 'E. Brandt' --grounds 'order 17'";
    // Once the walk has begun, it knows of the acknowledgement.
    let _ = shop.run(&format!("work wren ./hold.toml {acknowledged}")).done();
    let work: Work = shop.json("work wren ./hold.toml --step 1 --found '01 7C' --written --read-back '00 7C'");
    assert_eq!(work.next.expect("it is to be filed").ask, "why");
    let _ = shop.run("work wren ./hold.toml --why 'order 17'").done();
    let entry: Entry = shop.json("entry wren 3");
    assert_eq!(entry.acknowledgements.expect("it is work")[0].name, "E. Brandt");
    // Filed in one go, with the acknowledgement given then.
    let sheet: PlanSheet = shop.json("put-back wren 3 --save ./back.toml");
    assert_eq!(sheet.acknowledgements_missing, ["braking"]);
    let _ = shop.run(&format!("plan done ./back.toml --why 'as it was' {acknowledged}")).done();
    let entry: Entry = shop.json("entry wren 4");
    assert_eq!(entry.acknowledgements.expect("it is work")[0].tag, "braking");
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
            ("class = \"", "class = \"in"),
        ],
    );
    assert_snapshot!(shop.refused("plan show ./bad.toml"), @"
    $ asfound plan show ./bad.toml
    --- standard error
    asfound: ./bad.toml: line 11, column 13: stands_on: entries are numbered from
             1
    ./bad.toml: line 12, column 1: standson: the key `standson` is not known
    ./bad.toml: line 15, column 11: wish.put_back.entries: there is no entry to
      take back
    ./bad.toml: line 15, column 12: wish.put_back.entries[1]: expected a whole
      number, found a text
    ./bad.toml: line 28, column 9: steps[1].class: invalid class `incaution`
    hint: did you mean `stands_on`?
    --- exit code 2
    ");
    shop.rewrite("back.toml", "other.toml", &[("write_request = \"2E 0D 01", "write_request = \"2E 0D 02")]);
    let refused = shop.refused("plan show ./other.toml");
    assert!(refused.err.contains("it is 2E 0D 01 35 04 41"), "{refused}");
    shop.rewrite("back.toml", "newer.toml", &[("asfound-plan/1", "asfound-plan/2")]);
    assert_snapshot!(shop.refused("plan show ./newer.toml"), @"
    $ asfound plan show ./newer.toml
    --- standard error
    asfound: ./newer.toml: line 7, column 10: format: the format is
             `asfound-plan/2`, this program reads `asfound-plan/1`
    hint: use the version of the program that saved it
    --- exit code 2
    ");
    assert_eq!(shop.refused("plan show ./as-found.toml").exit, 2);
    let _ = shop.run("enrol plover --vin ZZ9WRENA9T2000017");
    assert!(shop.refused("work plover ./back.toml").err.contains("the plan is for `wren`"));
}
