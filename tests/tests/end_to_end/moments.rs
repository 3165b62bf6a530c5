//! What happened at one time and was filed at another: readings and work that come late, moments that are put right.

use asfound_tests::Workshop;
use asfound_tests::json::{Origin, Proof, ReadingFiled, Settings, Standing};
use insta::assert_snapshot;

const THREE: &str = "13 03 40 56";
const FOUR: &str = "14 03 40 57";
const FIVE: &str = "15 03 40 58";

/// Writes a reading of the body module that was taken at some moment; the number of flashes stands in these bytes.
fn taken(shop: &Workshop, name: &str, at: &str, bytes: &str) {
    let text = format!(
        "format = \"asfound-reading/1\"\nvehicle = \"wren\"\ntaken = {at}\n[modules.body]\nrecords = {{ 0D01 = \"{bytes}\" }}\n"
    );
    shop.write(name, text);
}

fn flashes(shop: &mut Workshop) -> (String, Option<Standing>) {
    let settings: Settings = shop.json("settings wren");
    let line = settings.settings.into_iter().find(|line| line.setting == "body.lane_change_flashes").unwrap();
    (line.content.text, line.standing)
}

fn stated(by: u32) -> Standing {
    Standing::Altered { by, proof: Proof { level: "stated".into(), reading: None } }
}

/// Read at 9:20 with three flashes, altered to five and noted at 9:35.
fn altered() -> Workshop {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    shop
}

#[test]
fn a_reading_that_is_filed_after_a_change_that_it_does_not_show_yet_contradicts_nothing() {
    let mut shop = altered();
    taken(&shop, "late.toml", "2026-03-14T09:30:00+01:00", THREE);
    assert_snapshot!(shop.run("read wren ./late.toml --partial"), @"
    $ asfound read wren ./late.toml --partial
    wren · entry 4 · reading check · 14 March 2026, 09:30
    ════════════════════════════════════════════════════════════════════════════════
    odometer        –
    supply voltage  –
    taken with      –
    covers          1 module, 1 record; partial

    Nothing differs from what was known of that moment.

    Told late: 1 record. What may be known from later stays as it is.

    Not read this time; the last content is kept
    body record 0D02, module brakes, module cluster

    Filed as entry 4.
    --- exit code 0
    ");
    assert_eq!(flashes(&mut shop), ("5".to_owned(), Some(stated(3))));
}

/// Somebody alters a setting, reads the module, and notes the change afterwards.
#[test]
fn a_reading_taken_between_doing_and_noting_accuses_nobody() {
    for (bytes, origin) in [(FIVE, None), (FOUR, Some("cannot-tell"))] {
        let mut shop = altered();
        taken(&shop, "late.toml", "2026-03-14T09:30:00+01:00", bytes);
        let filed: ReadingFiled = shop.json("read wren ./late.toml --partial");
        let told: Vec<&Origin> = filed.differences.iter().map(|difference| &difference.origin).collect();
        match origin {
            None => assert!(told.is_empty(), "{told:?}"),
            Some(_) => assert!(matches!(told[..], [Origin::CannotTell { .. }]), "{told:?}"),
        }
        assert_eq!(flashes(&mut shop).0, "5", "what comes late moves nothing");
    }
}

#[test]
fn a_late_reading_proves_work_before_it_and_shows_another_hand_between_its_neighbours() {
    let mut shop = altered();
    shop.wait_until(time::macros::datetime!(2026-03-16 09:00 +1));
    let _ = shop.run("change wren body.lane_change_flashes=3 --why 'owner wants three again'").done();
    taken(&shop, "between.toml", "2026-03-15T08:00:00+01:00", FIVE);
    let filed: ReadingFiled = shop.json("read wren ./between.toml --partial");
    assert!(filed.differences.is_empty(), "{:?}", filed.differences);
    assert_eq!(filed.read_back.len(), 1, "the change of the day before");
    assert_eq!(flashes(&mut shop), ("3".to_owned(), Some(stated(4))));
    assert_snapshot!(shop.run("entries wren body.lane_change_flashes"), @"
    $ asfound entries wren body.lane_change_flashes
    wren · body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          AS FOUND   AS LEFT   BY              PROVEN
    ─────────────────────────────────────────────────────────────────────────────
        2   14 Mar 2026   –          3         first known     –
        3   14 Mar 2026   3          5         change, Edda    read back, entry 5
                                               Brandt (owner
                                               wants five)
        4   16 Mar 2026   5          3         change, Edda    stated
                                               Brandt (owner
                                               wants three
                                               again)
    --- exit code 0
    ");
}

#[test]
fn a_file_that_was_filed_is_not_filed_again() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("read wren ./as-found.toml"), @"
    $ asfound read wren ./as-found.toml
    --- standard error
    asfound: this was filed already, as entry 2
    hint: if it is to be filed once more, say `--again`
    --- exit code 3
    ");
    let _ = shop.run("read wren ./as-found.toml --again").done();
}

#[test]
fn work_that_is_told_late_stands_in_its_place() {
    let mut shop = Workshop::with_wren();
    taken(&shop, "next.toml", "2026-03-14T09:40:00+01:00", FIVE);
    let filed: ReadingFiled = shop.json("read wren ./next.toml --partial");
    assert!(matches!(filed.differences[..], [_]), "another hand, as far as anybody knows: {:?}", filed.differences);
    // The author's own: told with its moment, it accounts for what was read.
    assert_snapshot!(
        shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five' --at '2026-03-14 09:30'"),
        @"
    $ asfound change wren body.lane_change_flashes=5 --why 'owner wants five' --at '2026-03-14 09:30'
    wren · entry 4 · change · 14 March 2026, 09:30
    ════════════════════════════════════════════════════════════════════════════════
    why             owner wants five

    SETTING                    AS FOUND   AS LEFT
    ─────────────────────────────────────────────
    body.lane_change_flashes   3          5

    Step 1 of 1: body at 0x0E, record 0D01
    class           caution
    as found        13 03 40 56
    as left         15 03 40 58
    differs in      byte 0 bits 1-2, byte 3 bits 1-3
    caution: Close the doors before the write; the module locks them when it
             restarts.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    Filed as entry 4 (not yet verified). Next: read the module (body) again and file
    it: asfound read wren FILE --as left
    --- standard error
    remark: it is earlier than entry 3 (14 March 2026, 09:35): what is known from then stays
    --- exit code 0
    "
    );
    let proof = Proof { level: "read-back".into(), reading: Some(3) };
    assert_eq!(flashes(&mut shop), ("5".to_owned(), Some(Standing::Altered { by: 4, proof })));
    assert!(!shop.run("entries wren body.lane_change_flashes").done().out.contains("another hand"));
    let _ = shop.run("audit").done();
}

#[test]
fn a_moment_is_put_right() {
    let mut shop = Workshop::with_wren();
    taken(&shop, "next.toml", "2026-03-14T09:40:00+01:00", FIVE);
    let _ = shop.run("read wren ./next.toml --partial").done();
    let _ = shop.run("change wren body.lane_change_flashes=3 --why 'as it was'").done();
    // It was done before that reading, which therefore shows another hand's five.
    assert_snapshot!(shop.run("correct wren 4 --at '2026-03-14 09:30' --why 'looked at the clock'"), @"
    $ asfound correct wren 4 --at '2026-03-14 09:30' --why 'looked at the clock'
    wren · entry 5 · correction of entry 4 · 14 March 2026, 09:55
    ════════════════════════════════════════════════════════════════════════════════
    why             looked at the clock

    Filed as entry 5. Nothing was done to the vehicle.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entries wren body.lane_change_flashes"), @"
    $ asfound entries wren body.lane_change_flashes
    wren · body.lane_change_flashes · Lane-change flashes
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          AS FOUND   AS LEFT   BY                      PROVEN
    ────────────────────────────────────────────────────────────────────────────────
        2   14 Mar 2026   –          3         first known             –
        4   14 Mar 2026   5          3         change, Edda Brandt     contradicted,
                                               (as it was)             entry 3
        3   14 Mar 2026   3          5         contradicts entry 4     –
    --- exit code 0
    ");
    assert_eq!(flashes(&mut shop).0, "5");
    let _ = shop.run("audit").done();
}

#[test]
fn what_was_so_at_a_time_is_told_as_known_today() {
    let mut shop = altered();
    let value = |shop: &mut Workshop, at: &str| {
        let settings: Settings = shop.json(&format!("settings wren --at {at} --module body"));
        let line = settings.settings.into_iter().find(|line| line.setting == "body.lane_change_flashes");
        line.map(|line| line.content.text)
    };
    assert_eq!(value(&mut shop, "2").as_deref(), Some("3"));
    assert_eq!(value(&mut shop, "3").as_deref(), Some("5"));
    assert_eq!(value(&mut shop, "'2026-03-14 09:21'").as_deref(), Some("3"));
    assert_eq!(value(&mut shop, "2026-03-14").as_deref(), Some("5"));
    let before = shop.refused("settings wren --at 2026-03-13 --module body");
    assert!(before.flat().contains("nothing is known of a module `body`"), "{before}");
}
