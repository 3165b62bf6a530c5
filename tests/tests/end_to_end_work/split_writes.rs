//! Plans that write a record more than once because rules between settings leave no other way, and what is said where
//! there is no way at all; one vehicle made like another one.

use asfound_tests::Workshop;
use asfound_tests::json::{Entry, PlanSheet, Work};
use insta::assert_snapshot;

/// The lamp has to be on before the relay, the relay before the mode; lamp and mode are in one record. Whether the supply
/// is on decides between the modes, and the relay may not be switched in mode `plain`.
const LAMPS: &str = r#"
format = "asfound-definition/1"
id = "test-trailer"
title = "Trailer module, invented for a test"
[applies_to]
module = "trailer"
[records.5A01]
label = "Lamps"
length = 3
checksum = { at = 2, over = "0-1", kind = "sum" }
[records.5A02]
label = "Relay"
length = 1
[records.5A03]
label = "Supply"
length = 1
[settings.mode]
label = "Mode"
record = "5A01"
byte = 0
type = "choice"
choices = { plain = 0, linked = 1, service = 2 }
tags = ["comfort"]
[settings.lamp]
label = "Lamp"
record = "5A01"
byte = 1
bits = 1
type = "switch"
tags = ["comfort"]
[settings.relay]
label = "Relay"
record = "5A02"
byte = 0
bits = 1
type = "switch"
tags = ["comfort"]
[settings.supply]
label = "Supply"
record = "5A03"
byte = 0
bits = 2
type = "choice"
choices = { off = 0, low = 1, high = 2 }
tags = ["comfort"]
"#;

const LAMP_RELAY_MODE: &str = r#"
[[rules]]
name = "relay-needs-lamp"
when = { relay = "on" }
needs = { lamp = "on" }
because = "The relay has nothing to switch"
[[rules]]
name = "linked-needs-relay"
when = { mode = "linked" }
needs = { relay = "on" }
because = "The link runs over the relay"
"#;

/// Relay and lamp only together, unless the supply is high.
const TOGETHER: &str = r#"
[[rules]]
name = "relay-needs-lamp"
when = { relay = "on", supply = { is_not = "high" } }
needs = { lamp = "on" }
because = "Invented"
[[rules]]
name = "lamp-needs-relay"
when = { lamp = "on", supply = { is_not = "high" } }
needs = { relay = "on" }
because = "Invented"
"#;

fn shop(rules: &str) -> Workshop {
    let mut shop = Workshop::with_wren();
    shop.write("garage/definitions/test-trailer.toml", format!("{LAMPS}{rules}"));
    let head = "format = \"asfound-reading/1\"\nvehicle = \"wren\"\ntaken = 2026-03-14T09:30:00+01:00\n";
    let said = "[modules.trailer.records]\n5A01 = \"00 00 00\"\n5A02 = \"00\"\n5A03 = \"00\"\n";
    shop.write("trailer.toml", format!("{head}{said}"));
    let _ = shop.run("read wren ./trailer.toml --partial").done();
    shop
}

const ALL: &str = "trailer.lamp=on trailer.mode=linked trailer.relay=on";

#[test]
fn a_record_is_written_twice_where_rules_leave_no_other_way() {
    let mut shop = shop(LAMP_RELAY_MODE);
    assert_snapshot!(shop.run(&format!("change wren {ALL} --preview --save ./link.toml")), @"
    $ asfound change wren trailer.lamp=on trailer.mode=linked trailer.relay=on --preview --save ./link.toml
    wren · change · not carried out yet · stands on entry 3
    ════════════════════════════════════════════════════════════════════════════════

    For every step
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    SETTING         AS FOUND   AS LEFT   WILL IT CHANGE
    ───────────────────────────────────────────────────
    trailer.lamp    off        on        yes
    trailer.relay   off        on        yes
    trailer.mode    plain      linked    yes

    Step 1 of 3: trailer, record 5A01
    class           routine
    look for        00 00 00
      request       22 5A 01
    write           00 01 01
      request       2E 5A 01 00 01 01
    differs in      byte 1 bit 0, byte 2 bit 0
    by name         lamp off -> on
    then read       00 01 01
    remark: not yet as wanted, because of the rules relay-needs-lamp,
            linked-needs-relay: a later step of this plan completes it

    Step 2 of 3: trailer, record 5A02
    class           routine
    look for        00
      request       22 5A 02
    write           01
      request       2E 5A 02 01
    differs in      byte 0 bit 0
    by name         relay off -> on
    then read       01

    Step 3 of 3: trailer, record 5A01
    class           routine
    look for        00 01 01
      request       22 5A 01
    write           01 01 02
      request       2E 5A 01 01 01 02
    differs in      byte 0 bit 0, byte 2 bits 0-1
    by name         mode plain -> linked
    then read       01 01 02

    Saved as ./link.toml.
    To go through it step by step: asfound work wren ./link.toml
    Code of this sheet: 0YSW-17QC
    When every step is made: asfound plan done ./link.toml --why TEXT
    --- exit code 0
    ");
    let sheet: PlanSheet = shop.json("plan show ./link.toml");
    let first = &sheet.plan.steps[0];
    assert_eq!(
        first.intermediate.as_ref().expect("it is not as wanted yet").rules,
        ["relay-needs-lamp", "linked-needs-relay"]
    );
    assert!(sheet.plan.steps[2].intermediate.is_none() && sheet.remarks.is_empty(), "{sheet:?}");

    // Two of three steps are made: that is an entry, and the rest is still a plan.
    let walked: Work = shop.json("work wren ./link.toml --step 1 --found '00 00 00' --written --read-back '00 01 01'");
    assert_eq!(walked.steps[0].outcome, "read-back-as-wanted");
    let _ = shop.run("work wren ./link.toml --step 2 --found 00 --written --read-back 01").done();
    let _ = shop.run("work wren ./link.toml --stop --why 'rain'").done();
    let entry: Entry = shop.json("entry wren 4");
    assert!(entry.entry.headline.ends_with("; 2 of 3 steps"), "{}", entry.entry.headline);
    let left: Vec<_> = entry.alterations.iter().map(|one| (one.field.as_str(), one.left.text.as_str())).collect();
    assert_eq!(left, [("trailer.lamp", "on"), ("trailer.relay", "on")]);
    let sheet: PlanSheet = shop.json("plan show ./link.toml");
    let [step] = &sheet.plan.steps[..] else { panic!("{sheet:?}") };
    assert_eq!((step.write.expect.as_deref(), step.write.write.as_str()), (Some("00 01 01"), "01 01 02"));
    let _ = shop.run("plan done ./link.toml --why 'the rest'").done();

    // The way back is worked out for itself, and needs two writes as well.
    let sheet: PlanSheet = shop.json("return-to wren 3");
    let writes: Vec<_> = sheet.plan.steps.iter().map(|step| step.write.write.as_str()).collect();
    assert_eq!(writes, ["00 01 01", "00", "00 00 00"]);
    let _ = shop.run("return-to wren 3 --done --sheet CODE --why 'as it was'").done();
    let entry: Entry = shop.json("entry wren 6");
    let back: Vec<_> = entry.alterations.iter().map(|one| (one.field.as_str(), one.left.text.as_str())).collect();
    assert_eq!(back, [("trailer.lamp", "off"), ("trailer.mode", "plain"), ("trailer.relay", "off")]);
}

#[test]
fn a_knot_is_named_with_what_would_untie_it() {
    let mut shop = shop(TOGETHER);
    assert_snapshot!(shop.refused("change wren trailer.lamp=on trailer.relay=on --preview"), @"
    $ asfound change wren trailer.lamp=on trailer.relay=on --preview
    --- standard error
    asfound: no safe order was found: every one breaks a rule on the way
      rule relay-needs-lamp
      rule lamp-needs-relay
      alters trailer.lamp
      alters trailer.relay
    hint: let trailer.supply be altered for a time as well (`--allow-for-a-time
          trailer.supply`)
    --- exit code 3
    ");
    let allowed = "change wren trailer.lamp=on trailer.relay=on --allow-for-a-time trailer.supply";
    assert_snapshot!(shop.run(&format!("{allowed} --preview --save ./both.toml")), @"
    $ asfound change wren trailer.lamp=on trailer.relay=on --allow-for-a-time trailer.supply --preview --save ./both.toml
    wren · change · not carried out yet · stands on entry 3
    ════════════════════════════════════════════════════════════════════════════════

    For every step
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    SETTING          AS FOUND   AS LEFT   WILL IT CHANGE
    ─────────────────────────────────────────────────────
    trailer.supply   off        off       for a time only
    trailer.lamp     off        on        yes
    trailer.relay    off        on        yes

    Step 1 of 4: trailer, record 5A03
    class           routine
    look for        00
      request       22 5A 03
    write           02
      request       2E 5A 03 02
    differs in      byte 0 bit 1
    by name         supply off -> high
    then read       02
    remark: not yet as wanted, because of the rules relay-needs-lamp,
            lamp-needs-relay: a later step of this plan completes it
    remark: supply gets this value for a time only

    Step 2 of 4: trailer, record 5A01
    class           routine
    look for        00 00 00
      request       22 5A 01
    write           00 01 01
      request       2E 5A 01 00 01 01
    differs in      byte 1 bit 0, byte 2 bit 0
    by name         lamp off -> on
    then read       00 01 01

    Step 3 of 4: trailer, record 5A02
    class           routine
    look for        00
      request       22 5A 02
    write           01
      request       2E 5A 02 01
    differs in      byte 0 bit 0
    by name         relay off -> on
    then read       01

    Step 4 of 4: trailer, record 5A03
    class           routine
    look for        02
      request       22 5A 03
    write           00
      request       2E 5A 03 00
    differs in      byte 0 bit 1
    by name         supply high -> off
    then read       00

    Saved as ./both.toml.
    To go through it step by step: asfound work wren ./both.toml
    Code of this sheet: RAT2-TXXA
    When every step is made: asfound plan done ./both.toml --why TEXT
    --- exit code 0
    ");
    let sheet: PlanSheet = shop.json("plan show ./both.toml");
    assert!(sheet.preview.iter().any(|line| line.field == "trailer.supply" && line.outlook == "for-a-time"));
    assert!(shop.text("both.toml").contains("allow_for_a_time = [\"trailer.supply\"]"));
    assert_snapshot!(shop.run("plan done ./both.toml --why 'both'"), @"
    $ asfound plan done ./both.toml --why 'both'
    wren · entry 4 · change · 14 March 2026, 10:15
    ════════════════════════════════════════════════════════════════════════════════
    why             both

    SETTING         AS FOUND   AS LEFT
    ──────────────────────────────────
    trailer.lamp    off        on
    trailer.relay   off        on

    Step 1 of 4: trailer, record 5A03
    class           routine
    as found        00
    as left         02
    differs in      byte 0 bit 1
    remark: not yet as wanted, because of the rules relay-needs-lamp,
            lamp-needs-relay: a later step of this plan completes it
    remark: supply gets this value for a time only

    Step 2 of 4: trailer, record 5A01
    class           routine
    as found        00 00 00
    as left         00 01 01
    differs in      byte 1 bit 0, byte 2 bit 0

    Step 3 of 4: trailer, record 5A02
    class           routine
    as found        00
    as left         01
    differs in      byte 0 bit 0

    Step 4 of 4: trailer, record 5A03
    class           routine
    as found        02
    as left         00
    differs in      byte 0 bit 1

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 4 (not yet verified). Next: read the module (trailer) again and
    file it: asfound read wren FILE --as left
    --- exit code 0
    ");
    let entry: Entry = shop.json("entry wren 4");
    let fields: Vec<_> = entry.alterations.iter().map(|one| one.field.as_str()).collect();
    assert_eq!(fields, ["trailer.lamp", "trailer.relay"], "the supply has come back");
    // The way back is tied by the same rules.
    assert_eq!(shop.refused("put-back wren 4").exit, 3);
    let sheet: PlanSheet = shop.json("put-back wren 4 --allow-for-a-time trailer.supply");
    assert_eq!(sheet.plan.steps.len(), 4);
    // A setting that no definition has cannot be allowed anything.
    assert_snapshot!(shop.refused("put-back wren 4 --allow-for-a-time trailer.suply"), @"
    $ asfound put-back wren 4 --allow-for-a-time trailer.suply
    --- standard error
    asfound: test-trailer has no setting `suply`
    hint: did you mean `trailer.supply`?
    --- exit code 2
    ");
}

/// What was altered for a time when the work was broken off is put back by the rest of the plan.
#[test]
fn what_was_altered_for_a_time_comes_back_also_after_a_stop() {
    let mut shop = shop(TOGETHER);
    let _ = shop
        .run("change wren trailer.lamp=on trailer.relay=on --allow-for-a-time trailer.supply --preview --save ./both.toml")
        .done();
    let _ = shop.run("work wren ./both.toml --step 1 --found 00 --written --read-back 02").done();
    let _ = shop.run("work wren ./both.toml --stop --why 'rain'").done();
    let sheet: PlanSheet = shop.json("plan show ./both.toml");
    let last = sheet.plan.steps.last().expect("there is a rest");
    assert_eq!((last.write.record.as_deref(), last.write.write.as_str()), (Some("5A03"), "00"));
    let _ = shop.run("plan done ./both.toml --why 'the rest'").done();
    assert_eq!(shop.refused("plan show ./both.toml").exit, 1);
}

#[test]
fn a_vehicle_is_made_like_another_one() {
    let mut shop = Workshop::after_work();
    let _ = shop.run("enrol plover --about 'white van'").done();
    shop.rewrite("as-found.toml", "other.toml", &[("vehicle = \"wren\"", "vehicle = \"plover\"")]);
    let _ = shop.run("read plover ./other.toml --as found").done();
    let chosen = "body.lane_change_flashes body.lock_by_horn body.lock_at_speed trailer.lamp";
    assert_snapshot!(shop.run(&format!("match plover wren {chosen}")), @"
    $ asfound match plover wren body.lane_change_flashes body.lock_by_horn body.lock_at_speed trailer.lamp
    plover · make like wren · not carried out yet · stands on entry 2
    ════════════════════════════════════════════════════════════════════════════════

    For every step
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    SETTING                    AS FOUND   AS LEFT   WILL IT CHANGE
    ──────────────────────────────────────────────────────────────
    body.lane_change_flashes   3          5         yes
    body.lock_at_speed         off        on        yes
    body.lock_by_horn          off        on        yes

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    look for        13 03 40 56
      request       22 0D 01
    write           3D 03 40 80
      request       2E 0D 01 3D 03 40 80
    differs in      byte 0 bits 1,2,3,5, byte 3 bits 1,2,4,6,7
    by name         lane_change_flashes 3 -> 5
    by name         lock_at_speed off -> on
    by name         lock_by_horn off -> on
    then read       3D 03 40 80
    caution: Close the doors before the write; the module locks them when it
             restarts.
    caution: Children must be able to leave the car: show the owner how the doors
             open from inside.

    note well: trailer.lamp stays as it is: nothing is known of it on the other
               vehicle

    Code of this sheet: FHC8-QBCW
    When every step is made: asfound match plover wren body.lane_change_flashes
    body.lock_at_speed body.lock_by_horn trailer.lamp --done --sheet FHC8-QBCW --why
    TEXT
    --- exit code 0
    ");
    let _ = shop.run(&format!("match plover wren {chosen} --save ./like.toml")).done();
    // Where the other vehicle goes from there does not matter: the plan keeps the values.
    let _ = shop.run("change wren body.lane_change_flashes=1 --why 'one will do'").done();
    let sheet: PlanSheet = shop.json("plan show ./like.toml");
    assert_eq!((sheet.aim.as_str(), sheet.plan.steps.len()), ("make like wren", 1));
    let _ = shop.run("plan done ./like.toml --why 'both alike'").done();
    assert_eq!(shop.refused("plan done ./like.toml --why 'both alike'").exit, 1);
    assert_snapshot!(shop.refused("match plover wren trailer.lamp --done --sheet CODE --why x"), @"
    $ asfound match plover wren trailer.lamp --done --sheet 0000-0000 --why x
    --- standard error
    asfound: the steps are not those on the sheet 0000-0000; they are now:
    hint: what was written by that sheet is not what would be filed: read the
          records and file the reading (asfound read plover FILE --as left); or plan
          anew, work by the new sheet and give its code
    --- exit code 3
    ");
    assert_eq!(shop.refused("match plover wren trailer.lamp --save ./none.toml").exit, 3);
    assert_eq!(shop.refused("match plover plover body.lock_by_horn").exit, 2);
    assert_eq!(shop.refused("match plover heron body.lock_by_horn").exit, 2);
}
