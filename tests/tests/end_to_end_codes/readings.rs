//! Codes before and after, module by module.

use asfound_tests::Workshop;
use asfound_tests::json::{Comparison, Entry, ReadingFiled};
use insta::assert_snapshot;

fn reading(head: &str, modules: &str) -> String {
    format!("format = \"asfound-reading/1\"\n{head}\n{modules}")
}

fn module(name: &str, codes: &str) -> String {
    format!("[modules.{name}]\nrecords = {{ 0A01 = \"01\" }}\ntrouble_codes = [{codes}]\n")
}

/// Two readings: brakes had one code and have another, the body's code changed its status, the seat is scanned once.
fn shop() -> Workshop {
    let mut shop = Workshop::new();
    let _ = shop.run("enrol wren").done();
    let brakes = module("brakes", "{ code = \"C0035-11\", status = \"2F\" }");
    let body = module("body", "{ code = \"B1000\", status = \"08\" }");
    shop.write("a.toml", reading("", &format!("{brakes}{body}{}", module("seat", ""))));
    let _ = shop.run("read wren ./a.toml").done();
    let brakes = module(
        "brakes",
        "{ code = \"C0040-11\", status = \"2F\", format = \"01\", occurrences = 3, odometer_km = 84100, \
                                  freeze_frame = { raw = \"01 FF\", values = { vehicle_speed = \"42 km/h\" } } }",
    );
    let body = module("body", "{ code = \"B1000\", status = \"2F\" }");
    let seat = "[modules.seat]\nrecords = { 0A01 = \"01\" }\n";
    shop.write("b.toml", reading("engine = \"stopped\"\nignition = \"on\"", &format!("{brakes}{body}{seat}")));
    shop
}

#[test]
fn codes_are_there_before_new_gone_or_not_examined() {
    let mut shop = shop();
    assert_snapshot!(shop.run("read wren ./b.toml").done(), @"
    $ asfound read wren ./b.toml
    wren · entry 3 · reading check · 14 March 2026, 09:25
    ════════════════════════════════════════════════════════════════════════════════
    odometer        –
    supply voltage  –
    taken with      –
    covers          3 modules, 3 records, 2 trouble codes in 2 modules scanned
    records         3 same, 0 changed, of those known before

    Nothing differs from the last known state.

    TROUBLE CODES   THERE BEFORE   NEW        GONE
    ──────────────────────────────────────────────────
    body            B1000          –          –
    brakes          –              C0040-11   C0035-11
    body B1000: there before, status 08 -> 2F.

    Trouble codes: not examined in seat.
    remark: steering, braking may be concerned: a qualified technician should look
            before anything is tried; local law and the maker's procedure come first

    What was altered before the new code came:
      · asfound suspects wren C0040-11 --module brakes

    remark: no definition fits body, brakes, seat: what was said is kept as it is,
            and not explained

    Filed as entry 3.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("compare wren 2 3"), @"
    $ asfound compare wren 2 3
    comparison · entry 2 · entry 3
    ════════════════════════════════════════════════════════════════════════════════
    No setting differs.

    TROUBLE CODES   THERE BEFORE   NEW        GONE
    ──────────────────────────────────────────────────
    body            B1000          –          –
    brakes          –              C0040-11   C0035-11
    body B1000: there before, status 08 -> 2F.

    Trouble codes: not examined in seat.

    Records, module by module
    MODULE   SAME   CHANGED   NOT READ   REFUSED   BYTES COMPARED   VOLATILE
    ────────────────────────────────────────────────────────────────────────
    body        1         0          0         0                1          0
    brakes      1         0          0         0                1          0
    seat        1         0          0         0                1          0
    --- exit code 0
    ");
    assert_snapshot!(shop.run("entry wren 3").done(), @"
    $ asfound entry wren 3
    wren · entry 3 · reading · 14 March 2026, 09:25
    ════════════════════════════════════════════════════════════════════════════════
    why             from b.toml
    by              Edda Brandt
    filed           14 March 2026, 09:25
    role            check
    covers          3 modules, 3 records, 2 trouble codes in 2 modules scanned
    odometer        –
    supply voltage  –
    taken with      –
    taken by        –
    engine          stopped
    ignition        on

    Trouble codes
      · body B1000: body, maker-specific
        status      2F: testFailed, testFailedThisOperationCycle, pendingDTC,
                    confirmedDTC, testFailedSinceLastClear
      · brakes C0040-11: chassis, generic
        status      2F: testFailed, testFailedThisOperationCycle, pendingDTC,
                    confirmedDTC, testFailedSinceLastClear
        format      01: ISO 14229-1
        counted     3 times
        stored at   84100 km
        frame       01 FF
        then        vehicle_speed 42 km/h

    commit          <commit>
    --- exit code 0
    ");

    let entry: Entry = shop.json("entry wren 3");
    let read = entry.reading.as_ref().expect("it is a reading");
    assert_eq!((read.engine.as_deref(), read.ignition.as_deref()), (Some("stopped"), Some("on")));
    let code = &read.covered["brakes"].trouble_codes.as_ref().unwrap()[0];
    assert_eq!((code.format.as_deref(), code.occurrences, code.odometer_km), (Some("01"), Some(3), Some(84_100)));
    assert_eq!(code.freeze_frame.as_ref().unwrap().raw.as_deref(), Some("01 FF"));
    let comparison: Comparison = shop.json("compare wren 2 3");
    let of = |name: &str| comparison.modules.iter().find(|module| module.module == name).unwrap().trouble_codes.clone();
    assert_eq!(of("seat"), None, "not scanned is not the same as no codes");
    let body = of("body").unwrap();
    assert_eq!((body.there_before.len(), body.new.len(), body.gone.len()), (1, 0, 0));
    assert_eq!(body.status_changed[0].before.as_deref(), Some("08"));
    assert_eq!(of("brakes").unwrap().gone[0].code, "C0035-11");
}

#[test]
fn what_many_codes_share_is_said_before_anything_else() {
    let mut shop = shop();
    let all = ["body", "brakes"].map(|name| module(name, "{ code = \"U0155\" }")).concat();
    shop.write("c.toml", reading("did_not_answer = [\"seat\"]", &all));
    let ran = shop.run("read wren ./c.toml --supply-voltage 10.9 --engine running").done();
    assert_snapshot!(ran, @"
    $ asfound read wren ./c.toml --supply-voltage 10.9 --engine running
    wren · entry 3 · reading check · 14 March 2026, 09:25
    ════════════════════════════════════════════════════════════════════════════════
    odometer        –
    supply voltage  10.9 V
    taken with      –
    covers          2 modules, 2 records, 2 trouble codes in 2 modules scanned
    records         2 same, 0 changed, of those known before

    Nothing differs from the last known state.

    One probable common circumstance: supply or communication
      · the supply voltage was 10.9 V
      · no answer from seat
      · new communication codes in body, brakes
    Look at battery, grounds and bus first, and read again, before anything that was
    altered is suspected.

    TROUBLE CODES   THERE BEFORE   NEW     GONE
    ───────────────────────────────────────────────
    body            –              U0155   B1000
    brakes          –              U0155   C0035-11

    Trouble codes: not examined in seat.
    remark: braking may be concerned: a qualified technician should look before
            anything is tried; local law and the maker's procedure come first

    What was altered before the new code came:
      · asfound suspects wren U0155 --module body

    remark: no definition fits body, brakes: what was said is kept as it is, and not
            explained
    remark: the supply voltage was below 12 V: support it and read again before
            trusting trouble codes

    Filed as entry 3.
    --- exit code 0
    ");
    assert!(!ran.out.contains("cause"), "{ran}");
    let filed: ReadingFiled = shop.json("read wren ./c.toml --supply-voltage 12.1 --did-not-answer doors");
    assert_eq!(filed.codes_not_examined, ["seat"]);
    assert_eq!(filed.common_circumstance, None, "the codes were there before");
    let ran = shop.refused("read wren ./c.toml --did-not-answer brakes");
    assert_snapshot!(ran, @"
    $ asfound read wren ./c.toml --did-not-answer brakes
    --- standard error
    asfound: brakes is said not to have answered, and yet the reading has what it
             said
    --- exit code 2
    ");
}

#[test]
fn a_code_that_is_not_plausible_is_remarked_and_kept() {
    let mut shop = shop();
    shop.write(
        "seat.toml",
        "format = \"asfound-definition/1\"\nid = \"seat-1\"\ntitle = \"Seat\"\n[applies_to]\nmodule = \"seat\"\n\
         [records.0A01]\nlabel = \"Heating\"\nlength = 1\n[[plausibility]]\nname = \"heats-when-it-runs\"\n\
         codes = [\"B2*\"]\nneeds = { engine = \"running\" }\nbecause = \"Heating is off while the engine stands\"\n",
    );
    let _ = shop.run("definition keep ./seat.toml").done();
    shop.write("c.toml", reading("", &module("seat", "{ code = \"B2105\" }, { code = \"B1105\" }")));
    let filed: ReadingFiled = shop.json("read wren ./c.toml --partial --engine stopped");
    assert_eq!(
        filed.remarks,
        [
            "seat B2105 is not plausible as it was read, because the engine was stopped: Heating is off while the engine stands"
        ]
    );
    assert_eq!(filed.trouble_codes[0].new.len(), 2);
    let filed: ReadingFiled = shop.json("read wren ./c.toml --partial --engine running");
    assert_eq!(filed.remarks, [""; 0]);
    let ran = shop.refused("read wren ./c.toml --partial --engine idling");
    assert!(ran.err.contains("an engine is `running` or `stopped`, not `idling`"), "{ran}");
}
