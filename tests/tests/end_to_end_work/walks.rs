//! Plans that are walked step by step, interrupted, gone on with, and filed in part.

use std::fs;

use asfound_tests::Workshop;
use asfound_tests::json::{Entry, PlanSheet, Settings, Work};
use insta::assert_snapshot;

/// Three records: 0D01 and 0D02 of the body module (whose bytes 0 and 1 count by themselves), 0C01 of the cluster.
fn with_plan() -> Workshop {
    let mut shop = Workshop::with_wren();
    let wish = "body.lane_change_flashes=5 body.relock_delay=long cluster.needle_sweep=on";
    let _ = shop.run(&format!("change wren {wish} --preview --save ./three.toml")).done();
    shop
}

/// The file of the only walk that there is.
fn events(shop: &Workshop) -> std::path::PathBuf {
    let folder = shop.garage().join("work/wren");
    let files = fs::read_dir(folder).expect("a walk has begun");
    let mut files: Vec<_> = files.map(|file| file.expect("the folder can be listed").path()).collect();
    files.retain(|path| path.extension().is_some_and(|end| end == "events"));
    assert_eq!(files.len(), 1);
    files.remove(0)
}

#[test]
fn a_plan_is_walked_to_its_end() {
    let mut shop = with_plan();
    assert_snapshot!(shop.run("work wren ./three.toml").done(), @r#"
    $ asfound work wren ./three.toml
    wren · change · walk 1 of plan 58e4acafab3f2400
    ════════════════════════════════════════════════════════════════════════════════
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    STEP   WHERE          SO FAR
    ────────────────────────────────
       1   body:0D01      at hand
       2   body:0D02      to be made
       3   cluster:0C01   to be made

    Step 1 of 3: body at 0x0E, record 0D01
    class           caution
    look for        13 03 40 56
      request       22 0D 01
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Read it and say what it says: asfound work wren ./three.toml --step 1 --found
    "BYTES"
    Or stop: asfound work wren ./three.toml --stop --why TEXT
    --- exit code 0
    "#);
    assert_snapshot!(shop.run("work wren ./three.toml --step 1 --found '13 03 40 56'").done(), @r#"
    $ asfound work wren ./three.toml --step 1 --found '13 03 40 56'
    wren · change · walk 1 of plan 58e4acafab3f2400
    ════════════════════════════════════════════════════════════════════════════════
    STEP   WHERE          SO FAR
    ───────────────────────────────────────
       1   body:0D01      to be written now
       2   body:0D02      to be made
       3   cluster:0C01   to be made

    Step 1 of 3: body at 0x0E, record 0D01
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

    Write it, then say: asfound work wren ./three.toml --step 1 --written
    If it was refused: asfound work wren ./three.toml --step 1 --refused "WHAT IT
    SAID"
    If you do not know: asfound work wren ./three.toml --step 1 --no-answer "WHAT
    HAPPENED"
    --- exit code 0
    "#);
    // Called once more, nobody can say whether it was written in between.
    assert_snapshot!(shop.run("work wren ./three.toml").done(), @r#"
    $ asfound work wren ./three.toml
    wren · change · walk 1 of plan 58e4acafab3f2400
    ════════════════════════════════════════════════════════════════════════════════
    STEP   WHERE          SO FAR
    ────────────────────────────────
       1   body:0D01      in doubt
       2   body:0D02      to be made
       3   cluster:0C01   to be made

    Step 1 of 3: body at 0x0E, record 0D01
    class           caution
    note well: this step is in doubt: it may have been written. Read it before
               anything else.
    look for        13 03 40 56
      request       22 0D 01
    or, if made     15 03 40 58

    Say what it says: asfound work wren ./three.toml --step 1 --found "BYTES"
    Or stop: asfound work wren ./three.toml --stop --why TEXT

    If you know that it was accepted: asfound work wren ./three.toml --step 1
    --written
    --- exit code 0
    "#);
    assert_snapshot!(shop.run("work wren ./three.toml --step 1 --written").done(), @r#"
    $ asfound work wren ./three.toml --step 1 --written
    wren · change · walk 1 of plan 58e4acafab3f2400
    ════════════════════════════════════════════════════════════════════════════════
    STEP   WHERE          SO FAR
    ─────────────────────────────────────────
       1   body:0D01      made, not read back
       2   body:0D02      to be made
       3   cluster:0C01   to be made

    Step 1 of 3: body at 0x0E, record 0D01
    class           caution
    read back       15 03 40 58
      request       22 0D 01

    Say what it says: asfound work wren ./three.toml --step 1 --read-back "BYTES"
    Or stop: asfound work wren ./three.toml --stop --why TEXT
    --- exit code 0
    "#);
    // Bytes 0 and 1 have counted on; they are written as they were found.
    let _ = shop.run("work wren ./three.toml --step 1 --read-back '15 03 40 58'").done();
    let work: Work = shop.json("work wren ./three.toml --step 2 --found '00 19 01'");
    let next = work.next.expect("it goes on");
    assert_eq!((next.ask.as_str(), next.write.as_deref()), ("written", Some("00 19 02")));
    assert_eq!(next.request.as_deref(), Some("2E 0D 02 00 19 02"));
    let _ = shop.run("work wren ./three.toml --step 2 --written --read-back '00 1A 02'").done();
    assert_snapshot!(shop.run("work wren ./three.toml --step 3 --found 00 --written --read-back 01").done(), @"
    $ asfound work wren ./three.toml --step 3 --found 00 --written --read-back 01
    wren · change · walk 1 of plan 58e4acafab3f2400
    ════════════════════════════════════════════════════════════════════════════════
    STEP   WHERE          SO FAR
    ───────────────────────────────────────────────
       1   body:0D01      made, read back as wanted
       2   body:0D02      made, read back as wanted
       3   cluster:0C01   made, read back as wanted

    There is nothing more to do at the vehicle.

    File it: asfound work wren ./three.toml --why TEXT
    --- exit code 0
    ");
    assert_snapshot!(shop.run("work wren ./three.toml --why 'owner wants five'").done(), @"
    $ asfound work wren ./three.toml --why 'owner wants five'
    wren · entry 3 · change · 14 March 2026, 11:05
    ════════════════════════════════════════════════════════════════════════════════
    why             owner wants five
    made            every step

    STEP   WHERE          OUTCOME                     FOUND         READ BACK
    ───────────────────────────────────────────────────────────────────────────
       1   body:0D01      made, read back as wanted   13 03 40 56   15 03 40 58
       2   body:0D02      made, read back as wanted   00 19 01      00 1A 02
       3   cluster:0C01   made, read back as wanted   00            01

    Filed as entry 3 (not yet verified). Next: read body, cluster again and file it:
    asfound read wren FILE --as left
    --- exit code 0
    ");
    let entry: Entry = shop.json("entry wren 3");
    assert_eq!(entry.steps.expect("it is work").len(), 3);
    assert!(!entry.entry.headline.contains("steps"), "{}", entry.entry.headline);
    assert_eq!(shop.refused("work wren ./three.toml").exit, 1);
}

#[test]
fn what_is_not_expected_stops_it() {
    let mut shop = with_plan();
    assert_snapshot!(shop.refused("work wren ./three.toml --step 1 --found '13 03 41 57' --written"), @"
    $ asfound work wren ./three.toml --step 1 --found '13 03 41 57' --written
    --- standard error
    asfound: step 1: body:0D01 says 13 03 41 57 instead of 13 03 40 56 (differs in
             byte 2 bit 0, byte 3 bit 0)
      nothing is written
    hint: read it again and say so; or stop, and file a reading of it: another hand
          may have been there
    --- exit code 3
    ");
    // Asked again it still knows; the right bytes let it go on.
    let work: Work = shop.json("work wren ./three.toml");
    assert_eq!(work.next.expect("it is asked again").ask, "found-again");
    let work: Work = shop.json("work wren ./three.toml --found '13 03 40 56'");
    assert_eq!(work.next.expect("it goes on").ask, "written");
    assert_snapshot!(shop.refused("work wren ./three.toml --written --read-back '13 03 40 56'"), @"
    $ asfound work wren ./three.toml --written --read-back '13 03 40 56'
    --- standard error
    asfound: step 1: body:0D01 reads 13 03 40 56 instead of 15 03 40 58 (differs in
             byte 0 bits 1-2, byte 3 bits 1-3) after the write
      no other step is made
    hint: a module may answer with what it said before until it has slept: read it
          again and say so; or stop with `--stop --why TEXT`, and plan what is left
          anew
    --- exit code 3
    ");
    // It was the module's old answer.
    let work: Work = shop.json("work wren ./three.toml --read-back '15 03 40 58'");
    assert_eq!(work.next.expect("it goes on").step, Some(2));
    for (answers, exit) in [
        ("--step 1 --found '00 17 01'", 2),
        ("--found '00 17'", 2),
        ("--found '00 17 xx'", 2),
        ("--written", 2),
        ("--read-back '00 17 01'", 2),
        ("--not-read", 2),
    ] {
        assert_eq!(shop.refused(&format!("work wren ./three.toml {answers}")).exit, exit, "{answers}");
    }
    let work: Work = shop.json("work wren ./three.toml");
    assert_eq!(work.next.expect("nothing was noted").ask, "found");
}

#[test]
fn a_part_is_an_entry_and_the_rest_is_a_plan() {
    let mut shop = with_plan();
    let _ = shop.run("work wren ./three.toml --found '13 03 40 56' --written --read-back '15 03 40 58'").done();
    let _ = shop.run("work wren ./three.toml --found '00 17 01' --no-answer 'the laptop went dark'").done();
    assert_eq!(shop.refused("work wren ./three.toml --stop").exit, 2);
    assert_snapshot!(shop.run("work wren ./three.toml --stop --why 'the rest tomorrow'").done(), @"
    $ asfound work wren ./three.toml --stop --why 'the rest tomorrow'
    wren · entry 3 · change · 14 March 2026, 10:15
    ════════════════════════════════════════════════════════════════════════════════
    why             the rest tomorrow
    made            1 of 3 steps

    STEP   WHERE          OUTCOME                     FOUND         READ BACK
    ───────────────────────────────────────────────────────────────────────────
       1   body:0D01      made, read back as wanted   13 03 40 56   15 03 40 58
       2   body:0D02      in doubt (the laptop went   00 17 01      –
                          dark)
       3   cluster:0C01   not made                    –             –

    note well: what is in doubt or was read back otherwise has to be read before it
               is altered again.
    Filed as entry 3 (not yet verified). Next: read body again and file it: asfound
    read wren FILE --as left
    The rest is still a plan: asfound plan show ./three.toml
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 3").done(), @"
    $ asfound entry wren 3
    wren · entry 3 · change · 14 March 2026, 10:15
    ════════════════════════════════════════════════════════════════════════════════
    why             the rest tomorrow
    by              Edda Brandt
    filed           14 March 2026, 10:15

    SETTING                    AS FOUND   AS LEFT   PROVEN
    ──────────────────────────────────────────────────────
    body.lane_change_flashes   3          5         stated

    Steps
    STEP   WHERE          OUTCOME                     FOUND         READ BACK
    ───────────────────────────────────────────────────────────────────────────
       1   body:0D01      made, read back as wanted   13 03 40 56   15 03 40 58
       2   body:0D02      in doubt (the laptop went   00 17 01      –
                          dark)
       3   cluster:0C01   not made                    –             –

    Bytes
    body record 0D01
      as found      13 03 40 56
      as left       15 03 40 58

    commit          <commit>
    --- exit code 0
    ");
    let settings: Settings = shop.json("settings wren");
    let now =
        |name: &str| settings.settings.iter().find(|line| line.setting == name).map(|line| line.content.text.clone());
    assert_eq!(now("body.lane_change_flashes").as_deref(), Some("5"));
    assert_eq!(now("body.relock_delay").as_deref(), Some("short"));

    let sheet: PlanSheet = shop.json("plan show ./three.toml");
    assert_eq!(sheet.plan.steps.len(), 2);
    // The second walk knows which record it has to read first, and that it was written after all.
    let work: Work = shop.json("work wren ./three.toml");
    assert_eq!(work.run, 2);
    let next = work.next.expect("it is asked");
    assert_eq!((next.ask.as_str(), next.step), ("found-first", Some(1)));
    let work: Work = shop.json("work wren ./three.toml --step 1 --found '00 18 02'");
    assert_eq!(work.steps[0].outcome, "read-back-as-wanted");
    let _ = shop.run("work wren ./three.toml --step 2 --found 00 --written --not-read-back").done();
    let work: Work = shop.json("work wren ./three.toml --why 'the rest'");
    assert_eq!(work.entry.expect("it is filed").number, 4);
    assert_eq!(shop.refused("plan show ./three.toml").exit, 1);
}

#[test]
fn a_wrongly_stored_value_is_told_as_it_is_and_set_right() {
    let mut shop = with_plan();
    let refused = shop.refused("work wren ./three.toml --found '13 03 40 56' --written --read-back '1D 03 40 60'");
    assert_eq!(refused.exit, 3);
    let _ = shop.run("work wren ./three.toml --stop --why 'the module stored something else'").done();
    let entry: Entry = shop.json("entry wren 3");
    let fields: Vec<_> = entry.alterations.iter().map(|one| (one.field.as_str(), one.left.text.as_str())).collect();
    assert_eq!(fields, [("body.lane_change_flashes", "5"), ("body.lock_by_horn", "on")]);
    assert!(entry.entry.headline.ends_with("; 0 of 3 steps"), "{}", entry.entry.headline);
    // The plan never meant the horn; what is left of it sets that right too.
    let sheet: PlanSheet = shop.json("plan show ./three.toml");
    let step = &sheet.plan.steps[0];
    assert_eq!((step.write.expect.as_deref(), step.write.write.as_str()), (Some("1D 03 40 60"), "15 03 40 58"));
}

/// A write that broke off may leave every setting as wanted and the checksum wrong: what is left is to put that right.
#[test]
fn a_checksum_that_is_wrong_by_itself_is_put_right() {
    let mut shop = Workshop::after_another_hand();
    let _ = shop.run("put-back wren 4 --save ./back.toml").done();
    let answers = "--found '3D 04 41 82' --no-answer 'the supply went' --read-back '35 04 41 82'";
    assert_eq!(shop.refused(&format!("work wren ./back.toml {answers}")).exit, 3);
    let _ = shop.run("work wren ./back.toml --stop --why 'battery is flat'").done();
    assert_snapshot!(shop.run("plan show ./back.toml"), @"
    $ asfound plan show ./back.toml
    wren · put back entry 4 · not carried out yet · stands on entry 8
    ════════════════════════════════════════════════════════════════════════════════
    note well: body:0D01: read back otherwise since entry 8; read it before anything
               else
    remark: a part of it was carried out in entry 8; this is what is left
    remark: the journal or the definitions have moved on: the steps are not those
            that were saved

    For every step
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    SETTING             AS FOUND   AS LEFT   WILL IT CHANGE
    ────────────────────────────────────────────────────────────
    body.lock_by_horn   off        off       no, it is as wanted

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    look for        35 04 41 82
      request       22 0D 01
    write           35 04 41 7A
      request       2E 0D 01 35 04 41 7A
    differs in      byte 3 bits 3-7
    then read       35 04 41 7A
    caution: Close the doors before the write; the module locks them when it
             restarts.
    remark: The record's checksum is wrong as found: it is 82, by the definition it
            should be 7A. The write has the right one.

    To go through it step by step: asfound work wren ./back.toml
    Code of this sheet: 70NZ-M679
    When every step is made: asfound plan done ./back.toml --sheet 70NZ-M679
    --why TEXT
    --- exit code 0
    ");
    let again = "--found '35 04 41 82' --written --read-back '35 04 41 7A'";
    let _ = shop.run(&format!("work wren ./back.toml {again}")).done();
    assert_snapshot!(shop.run("work wren ./back.toml --why 'the checksum'"), @"
    $ asfound work wren ./back.toml --why 'the checksum'
    wren · entry 9 · put-back · 20 April 2026, 17:50
    ════════════════════════════════════════════════════════════════════════════════
    why             the checksum
    made            every step

    STEP   WHERE       OUTCOME                     FOUND         READ BACK
    ────────────────────────────────────────────────────────────────────────
       1   body:0D01   made, read back as wanted   35 04 41 82   35 04 41 7A

    Filed as entry 9 (not yet verified). Next: read body again and file it: asfound
    read wren FILE --as left
    --- exit code 0
    ");
    assert_eq!(shop.refused("plan show ./back.toml").exit, 1);
}

#[test]
fn nothing_made_is_nothing_filed() {
    let mut shop = with_plan();
    let _ = shop.run("work wren ./three.toml --found '13 03 40 56'").done();
    // It was asked to write: nobody can say that it was not written.
    assert_eq!(shop.refused("work wren ./three.toml --stop").exit, 2);
    let _ = shop.run("work wren ./three.toml --refused 'conditions not correct' --read-back '13 03 40 56'").done();
    let tip = shop.tip("wren");
    let _ = shop.run("work wren ./three.toml --refused 'still not' --read-back '13 03 40 56'").done();
    let _ = shop.run("work wren ./three.toml --refused 'still not' --read-back '13 03 40 56' --stop").done();
    assert_eq!(shop.tip("wren"), tip);
    let work: Work = shop.json("work wren ./three.toml");
    assert_eq!((work.run, work.next.expect("it begins anew").ask.as_str()), (2, "found"));
}

#[test]
fn cut_off_anywhere_it_goes_on_where_it_was() {
    let mut shop = with_plan();
    let _ = shop.run("work wren ./three.toml --found '13 03 40 56'").done();
    let _ = shop.run("work wren ./three.toml --written --read-back '15 03 40 58'").done();
    let path = events(&shop);
    let whole = fs::read(&path).expect("the file is there");
    // After so many whole lines: what is asked, of which step.
    let asked = [("found", 1), ("found", 1), ("written", 1), ("found-first", 1), ("read-back", 1), ("found", 2)];
    let ends = whole.iter().enumerate().filter(|(_, byte)| **byte == b'\n').map(|(at, _)| at + 1);
    let cuts: Vec<usize> = [0, 1].into_iter().chain(ends.flat_map(|end| [end - 20, end - 1, end, end + 1])).collect();
    for cut in cuts.into_iter().filter(|cut| *cut <= whole.len()) {
        fs::write(&path, &whole[..cut]).expect("the file can be written");
        let lines = whole[..cut].split(|byte| *byte == b'\n').count() - 1;
        let work: Work = shop.json("work wren ./three.toml");
        let next = work.next.expect("it goes on");
        assert_eq!((next.ask.as_str(), next.step), (asked[lines].0, Some(asked[lines].1)), "cut at {cut}");
    }
}

#[test]
fn a_damaged_file_is_not_relied_on() {
    let mut shop = with_plan();
    let _ = shop.run("work wren ./three.toml --found '13 03 40 56' --written").done();
    let path = events(&shop);
    let text = fs::read_to_string(&path).expect("the file is text");
    fs::write(&path, text.replace("asked 1", "asked 2")).expect("the file can be written");
    let refused = shop.refused("work wren ./three.toml");
    assert_eq!(refused.exit, 4);
    assert!(refused.err.contains("line 3 is not as it"), "{refused}");
}

#[test]
fn killed_after_filing_it_is_not_filed_twice() {
    let mut shop = with_plan();
    for answers in [
        "'13 03 40 56' --written --read-back '15 03 40 58'",
        "'00 17 01' --written --read-back '00 17 02'",
        "00 --written --read-back 01",
    ] {
        let _ = shop.run(&format!("work wren ./three.toml --found {answers}")).done();
    }
    let path = events(&shop);
    let before = fs::read(&path).expect("the file is there");
    let _ = shop.run("work wren ./three.toml --why 'owner wants five'").done();
    fs::write(&path, before).expect("the file can be written");
    let tip = shop.tip("wren");
    assert_eq!(shop.refused("work wren ./three.toml --why 'owner wants five'").exit, 1);
    assert_eq!(shop.tip("wren"), tip);
}

#[test]
fn a_journal_that_moves_under_a_walk_stops_it() {
    let mut shop = with_plan();
    let _ = shop.run("work wren ./three.toml --found '13 03 40 56' --written --read-back '15 03 40 58'").done();
    let _ = shop.run("change wren body.relock_delay=long --why 'somebody else'").done();
    assert_snapshot!(shop.refused("work wren ./three.toml --found '00 17 01'"), @"
    $ asfound work wren ./three.toml --found '00 17 01'
    --- standard error
    asfound: entry 3 has moved body.relock_delay since the walk began
    hint: stop here and file what was made (asfound work wren FILE --stop --why
          TEXT)
    --- exit code 3
    ");
    let _ = shop.run("work wren ./three.toml --stop --why 'overtaken'").done();
    let entry: Entry = shop.json("entry wren 4");
    assert_eq!(entry.alterations.len(), 1);
    assert!(entry.entry.headline.ends_with("; 1 of 3 steps"), "{}", entry.entry.headline);
}

/// Settings that nobody has read are set by name, and answers are held against the definition where there is one.
#[test]
fn settings_by_name() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren radio.bass=4 --was 3 --preview --save ./bass.toml").done();
    assert_eq!(shop.refused("work wren ./bass.toml --found 2").exit, 3);
    let _ = shop.run("work wren ./bass.toml --found 3 --written --read-back 4").done();
    let work: Work = shop.json("work wren ./bass.toml --why 'owner wants more'");
    assert_eq!(work.entry.expect("it is filed").headline, "change: radio.bass 3 -> 4");
}
