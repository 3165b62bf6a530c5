//! Local times have the offset that the place had on their own date.

use asfound_tests::Workshop;

use crate::BINARY;

fn at(shop: &mut Workshop, zone: &str, line: &str) -> asfound_tests::Ran {
    let output = shop.process(BINARY, line).env("TZ", zone).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let exit = output.status.code().and_then(|code| u8::try_from(code).ok()).unwrap();
    asfound_tests::Ran { line: line.to_owned(), out: text(output.stdout), err: text(output.stderr), exit }
}

/// What the last entry says of when it happened.
fn happened(shop: &mut Workshop) -> String {
    let ran = shop.run("entries wren --json").done();
    let value: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    value["entries"].as_array().unwrap().last().unwrap()["happened"].as_str().unwrap().to_owned()
}

#[test]
fn a_summer_time_typed_in_winter_is_one_of_summer() {
    let mut shop = Workshop::with_wren();
    let change = "change wren body.lane_change_flashes=5 --was 3 --why 'found in the notebook' --at";
    let ran = at(&mut shop, "Europe/Berlin", &format!("{change} '2025-07-01 09:20'"));
    assert_eq!(ran.exit, 0, "{ran}");
    assert_eq!(happened(&mut shop), "2025-07-01T09:20:00+02:00");
    // Without `TZ` the fixed clock's own offset counts, whatever the machine is set to.
    let ran = shop.run_process(BINARY, "change wren body.lane_change_flashes=4 --why x --at '2025-07-02 09:20'");
    assert_eq!(ran.exit, 0, "{ran}");
    assert_eq!(happened(&mut shop), "2025-07-02T09:20:00+01:00");
    let read = "read wren --value cluster:0C01=01 --partial --taken '2025-07-03 09:20'";
    let ran = at(&mut shop, "Australia/Adelaide", read);
    assert_eq!(ran.exit, 0, "{ran}");
    assert_eq!(happened(&mut shop), "2025-07-03T09:20:00+09:30");
}

#[test]
fn a_time_that_came_twice_or_never_is_refused_with_what_to_write() {
    let mut shop = Workshop::with_wren();
    let change = "change wren body.lane_change_flashes=5 --was 3 --why x --at";
    for (zone, time, said) in [
        (
            "Europe/Berlin",
            "2025-10-26 02:30",
            "2025-10-26 02:30 came twice in Europe/Berlin: the clocks were turned back",
        ),
        ("Europe/Berlin", "2025-10-26 02:30", "hint: write 2025-10-26T02:30:00+02:00 or 2025-10-26T02:30:00+01:00"),
        (
            "Europe/Berlin",
            "2025-03-30 02:30",
            "never came in Europe/Berlin: the clocks went from 2025-03-30 02:00 to 2025-03-30 03:00",
        ),
        ("Europe/Nowhere", "2025-03-30 01:30", "TZ is `Europe/Nowhere`, which names no time zone"),
    ] {
        let ran = at(&mut shop, zone, &format!("{change} '{time}'"));
        assert!(ran.exit == 2 && ran.flat().contains(said), "{ran}");
    }
    let ran = at(&mut shop, "Europe/Berlin", &format!("{change} 2025-10-26T02:30:00+01:00"));
    assert_eq!(ran.exit, 0, "{ran}");
    assert_eq!(happened(&mut shop), "2025-10-26T02:30:00+01:00");
}
