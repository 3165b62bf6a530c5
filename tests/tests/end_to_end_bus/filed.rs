//! What is filed of a log: as found, changes, as left, the witness.

use asfound_tests::json::{Entries, Entry, Witness};
use asfound_tests::plain_git;
use insta::assert_snapshot;

use crate::{BODY, FIVE, FOUND, MORNING, five_flashes, shop_with};
use asfound_tests::BusLog;
use time::Duration;

#[test]
fn work_on_the_bus_is_witnessed() {
    let mut shop = shop_with(&five_flashes());
    assert_snapshot!(shop.run("witness wren ./drive.log --why 'owner wants five'").done(), @"");
    assert_snapshot!(shop.run("entries wren").done(), @"");
    assert_snapshot!(shop.run("entry wren 6").done(), @"");
    assert_snapshot!(shop.run("settings wren --module body").done(), @"");
    let entry: Entry = shop.json("entry wren 4");
    assert_eq!(entry.alterations[0].proof.as_ref().map(|proof| proof.level.as_str()), Some("witnessed"));
    assert!(entry.alterations[0].on_the_wire.as_ref().is_some_and(|wire| wire.entry == 6 && wire.at.is_some()));
    let log: Entry = shop.json("entry wren 6");
    let witness = log.witness.expect("it is a witness");
    assert_eq!((witness.filed, witness.writes.len()), (vec![3, 4, 5], 1));
    assert_eq!(shop.run("audit").exit, 0);
}

#[test]
fn a_preview_files_nothing_and_says_what_is_missing() {
    let mut shop = shop_with(&five_flashes());
    let before = plain_git::tips(&shop.repository());
    assert_snapshot!(shop.run("witness wren ./drive.log --preview").done(), @"");
    let shown: Witness = shop.json("witness wren ./drive.log --preview --why 'owner wants five'");
    assert!(!shown.filed && !shown.writes[0].unaccounted);
    assert_eq!(
        shown.entries.iter().map(|entry| entry.kind.as_str()).collect::<Vec<_>>(),
        ["reading", "change", "reading", "witness"]
    );
    assert_eq!(plain_git::tips(&shop.repository()), before);
}

#[test]
fn nobody_says_whose_it_was() {
    let mut shop = shop_with(&five_flashes());
    assert_snapshot!(shop.refused("witness wren ./drive.log"), @"");
}

#[test]
fn a_log_is_filed_once() {
    let mut shop = shop_with(&five_flashes());
    let _ = shop.run("witness wren ./drive.log --why 'owner wants five'").done();
    assert_snapshot!(shop.refused("witness wren ./drive.log --why again"), @"");
    // Under another name it is the same log still.
    shop.write("copy.log", shop.text("drive.log"));
    assert_snapshot!(shop.refused("witness wren ./copy.log --another-hand"), @"");
    assert_snapshot!(shop.refused("witness wren ./copy.log ./copy.log --why again"), @"");
}

#[test]
fn the_conversations_are_kept_without_keys() {
    let mut shop = shop_with(&five_flashes());
    let _ = shop.run("witness wren ./drive.log --why 'owner wants five' --keep-log").done();
    let kept = plain_git::file(&shop.repository(), "wren", "evidence/6/drive-conversations.log");
    assert_snapshot!(kept, @"");
    assert!(!kept.contains("DEADBEEF") && !kept.contains("11223344") && !kept.contains(" 120#"));
    // What is kept is a log by itself, and says the same.
    shop.write("kept.log", &kept);
    let again: asfound_tests::json::Wire = shop.last_json_line("wire show ./kept.log");
    let whole: asfound_tests::json::Wire = shop.last_json_line("wire show ./drive.log");
    assert_eq!((again.messages, again.modules), (whole.messages, whole.modules));
    // The log itself is nowhere in the journal.
    let log: Entry = shop.json("entry wren 6");
    assert_eq!(log.evidence.len(), 1);
}

#[test]
fn writing_a_record_again_begins_another_change() {
    let mut log = BusLog::at(MORNING);
    log.read(BODY, "0D01", FOUND).write(BODY, "0D01", FIVE).read(BODY, "0D01", FIVE);
    log.wait(Duration::seconds(30));
    log.write(BODY, "0D01", "14034057").read(BODY, "0D01", "14034057");
    let mut shop = shop_with(&log);
    let _ = shop.run("witness wren ./drive.log --why 'trying which is best'").done();
    let entries: Entries = shop.json("entries wren");
    let lines: Vec<_> = entries.entries[3..].iter().map(|entry| entry.headline.as_str()).collect();
    assert_snapshot!(lines.join("\n"), @"");
    assert!(entries.entries[3..5].iter().all(|entry| entry.proof[0].level == "witnessed"));
}

#[test]
fn parts_of_a_log_belong_together() {
    let whole = five_flashes();
    let lines: Vec<&str> = whole.text().lines().collect();
    let (first, second) = lines.split_at(lines.len() - 12);
    let mut shop = shop_with(&whole);
    shop.write("b.log", first.join("\n"));
    shop.write("a.log", second.join("\n"));
    let filed: Witness = shop.json("witness wren ./a.log ./b.log --why 'owner wants five'");
    assert_eq!(filed.logs.iter().map(|log| log.name.as_str()).collect::<Vec<_>>(), ["b.log", "a.log"]);
    assert_eq!((filed.writes.len(), filed.writes[0].entry), (1, Some(4)));
    assert_eq!(filed.writes[0].read_back.as_deref(), Some("15 03 40 58"));
}

#[test]
fn restricted_systems_are_acknowledged() {
    const BRAKES: asfound_tests::BusModule = asfound_tests::BusModule("18DA03F1", "18DAF103");
    let mut log = BusLog::at(MORNING);
    log.read(BRAKES, "0B10", "017C").write(BRAKES, "0B10", "007C").read(BRAKES, "0B10", "007C");
    let mut shop = shop_with(&log);
    assert_snapshot!(shop.refused("witness wren ./drive.log --why 'rolls back on the ramp'"), @"");
    let options = "--acknowledge braking --acknowledged-by 'J. Lind' --grounds 'order 7'";
    let _ = shop.run(&format!("witness wren ./drive.log --why 'rolls back on the ramp' {options}")).done();
    let change: Entry = shop.json("entry wren 4");
    assert_eq!(change.acknowledgements.map(|list| list.len()), Some(1));
}
