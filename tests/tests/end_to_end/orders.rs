//! Work orders, from the customer's consent to the closing.

use asfound_tests::json::{Entries, OpenWork, OrderFiled, OrderInFull, Orders, Sheet};
use asfound_tests::{Workshop, plain_git};
use insta::assert_snapshot;

fn opened() -> Workshop {
    let mut shop = Workshop::with_wren();
    let line = "order open wren 2026-0412 --authorise body.lane_change_flashes=5 --authorise body.lock_by_horn=on \
                --consent 'owner, at the desk, 14 March'";
    let _ = shop.run(line).done();
    shop
}

#[test]
fn from_the_consent_to_the_closing() {
    let mut shop = opened();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'as ordered'").done();
    let _ = shop.run("change wren body.lock_at_speed=on --why 'while at it'").done();
    assert_snapshot!("without_authority", shop.run("order show wren"));
    assert_snapshot!("blocked", shop.refused("order close wren"));
    assert_snapshot!(
        "extended",
        shop.run("order extend wren --authorise body.lock_at_speed=on --consent 'owner, by phone, 14 March 10:05'")
    );
    assert_snapshot!("closed", shop.run("order close wren --why 'car handed back'"));
    assert_snapshot!("all", shop.run("order show wren --all"));
    assert_snapshot!("entries_with_an_order", shop.run("entries wren"));
    assert_snapshot!("entry_of_an_order", shop.run("entry wren 3"));
    assert_eq!(shop.run("audit wren").exit, 0);
}

#[test]
fn putting_back_lifts_the_block_as_well() {
    let mut shop = opened();
    let _ = shop.run("change wren body.lock_at_speed=on --why 'while at it'").done();
    assert_eq!(shop.run("order close wren").exit, 3);
    let _ = shop.run("put-back wren 4 --done --sheet CODE --why 'not ordered'").done();
    let closed: OrderInFull = shop.json("order close wren");
    let groups: Vec<(&str, &str)> = closed.lines.iter().map(|line| (line.group.as_str(), line.what.as_str())).collect();
    assert_eq!(
        groups,
        [
            ("authorised-not-done", "body.lane_change_flashes"),
            ("authorised-not-done", "body.lock_by_horn"),
            ("altered-and-taken-back", "body.lock_at_speed"),
        ]
    );
    assert_eq!((closed.opened, closed.closed, closed.read_after_work), (3, Some(6), false));
}

#[test]
fn bits_without_a_name_block_too() {
    let mut shop = opened();
    let _ = shop.run("change wren cluster:0C09='01 02' --one-way --why 'from the notes'").done();
    let refused = shop.refused("order close wren");
    assert!(refused.err.contains("cluster:0C09"), "{refused}");
    let shown: OrderInFull = shop.json("order show wren");
    assert!(!shown.can_be_closed);
    let _ = shop.run("order extend wren --authorise cluster:0C09='01 02' --consent 'owner, by phone'").done();
    assert_eq!(shop.run("order close wren").exit, 0);
}

/// A setting of which nothing was known: what it was before nobody can tell, and it needs authority all the same.
#[test]
fn work_without_a_way_back_needs_authority() {
    let mut shop = opened();
    let _ = shop.run("change wren radio.volume=3 --one-way --why 'from the notes'").done();
    let refused = shop.refused("order close wren");
    assert!(refused.exit == 3 && refused.err.contains("radio.volume: ? -> 3"), "{refused}");
}

#[test]
fn what_is_refused() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!("none_open", shop.refused("order close wren"));
    assert_snapshot!("no_consent", shop.refused("order open wren 7 --authorise body.lane_change_flashes=5"));
    for (line, says) in [
        ("order open wren 7 --consent ' '", "consent"),
        ("order open wren 'a b' --consent x", "invalid order number"),
        ("order open wren 7 --authorise body.lane_change_flashes=99 --consent x", "body.lane_change_flashes"),
        ("order open wren 7 --authorise body.no_such=1 --consent x", "has no setting `no_such`"),
        (
            "order open wren 7 --authorise body.lock_by_horn=on --authorise body.lock_by_horn=off --consent x",
            "and an earlier authority are about",
        ),
        ("order open finch 7 --consent x", "finch"),
        ("order show wren", "has had no order"),
        ("order extend wren --consent x", "nothing is added"),
    ] {
        let ran = shop.run(line);
        assert!(ran.exit == 2 && ran.err.contains(says), "{ran}");
    }
    let _ = shop.run("order open wren 7 --consent 'examination only'").done();
    let ran = shop.run("order open wren 8 --consent x");
    assert!(ran.exit == 3 && ran.err.contains("order 7 is open since entry 3"), "{ran}");
    let _ = shop.run("order close wren").done();
    let ran = shop.run("order open wren 7 --consent x");
    assert!(ran.exit == 3 && ran.err.contains("has opened an order 7 already"), "{ran}");
    let ran = shop.run("order show wren 9");
    assert!(ran.exit == 2 && ran.err.contains("has no order 9"), "{ran}");
    // Nothing of it was filed.
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries.len(), 4);
}

#[test]
fn in_json() {
    let mut shop = Workshop::with_wren();
    let filed: OrderFiled = shop.json(
        "order open wren 7 --authorise body.lane_change_flashes=5 --authorise body:0D02='0F' --authorise-unit cluster \
         --consent 'owner, by phone'",
    );
    assert_eq!((filed.order.as_str(), filed.authorised.len()), ("7", 3));
    let _ = shop.run("order extend wren --authorise body.lock_by_horn=on --consent 'again by phone'").done();
    let orders: Orders = shop.json("order show wren --all");
    assert_eq!(orders.orders[0].terms.len(), 2);
    assert_eq!(orders.orders[0].lines.len(), 4);
}

/// What was done before the order is none of its business, also where nothing was read in between.
#[test]
fn the_sheet_of_an_order_says_nothing_of_an_earlier_job() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lock_at_speed=on --why 'another job'").done();
    let _ = shop.run("order open wren 7 --authorise body.lane_change_flashes=5 --consent 'owner, by phone'").done();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'as ordered'").done();
    let _ = shop.run("order close wren").done();
    let sheet = shop.run("handover wren --order 7").done().out;
    assert!(sheet.contains("body.lane_change_flashes") && sheet.contains("as authorised"), "{sheet}");
    assert!(!sheet.contains("body.lock_at_speed") && !sheet.contains("done without authority"), "{sheet}");
}

/// What was ordered and nobody recorded: a reading shows it. Order and sheet say the same of it, also of bits that no definition
/// names.
#[test]
fn what_a_reading_shows_and_the_order_names_is_done() {
    let mut shop = opened();
    let left = [("13 03 40 56", "1D 03 40 60")];
    shop.rewrite("as-found.toml", "left.toml", &left);
    let _ = shop.run("read wren ./left.toml --as left").done();
    let shown: OrderInFull = shop.json("order show wren");
    let how: Vec<(&str, Option<&str>)> =
        shown.lines.iter().map(|line| (line.what.as_str(), line.how.as_deref())).collect();
    assert_eq!(how, [("body.lane_change_flashes", Some("seen")), ("body.lock_by_horn", Some("seen"))]);
    let sheet: Sheet = shop.json("handover wren");
    assert!(sheet.changes.len() == 2 && sheet.changes.iter().all(|change| change.account == "as-authorised"));
    assert_eq!((sheet.totals.changed_as_agreed, sheet.totals.changed_otherwise, sheet.undone.len()), (1, 0, 0));
    let text = shop.run("handover wren").done().out;
    assert!(!text.contains("another hand") && text.contains("as authorised"), "{text}");

    // Bits 6 and 7 of byte 0 have no name. The record is ordered with its bytes; then they are bits that nobody ordered.
    for (authorise, account) in [("body:0D01='D3 03 40 16'", "as-authorised"), ("body.lock_by_horn=off", "cannot-tell")]
    {
        let mut shop = Workshop::with_wren();
        let _ = shop.run(&format!("order open wren 8 --authorise {authorise} --consent 'owner'")).done();
        shop.rewrite("as-found.toml", "left.toml", &[("13 03 40 56", "D3 03 40 16")]);
        let _ = shop.run("read wren ./left.toml --as left").done();
        let sheet: Sheet = shop.json("handover wren");
        assert_eq!(sheet.changes.len(), 1, "{:#?}", sheet.changes);
        assert_eq!((sheet.changes[0].account.as_str(), sheet.changes[0].undeclared_bits), (account, Some(2)));
        let done = usize::from(account == "as-authorised");
        let totals = &sheet.totals;
        assert_eq!((totals.changed_as_agreed, totals.changed_otherwise, totals.cannot_tell), (done, 0, 1 - done));
    }
}

/// A module is replaced as ordered: what the new one holds came with it, on the order and on the sheet.
#[test]
fn a_module_that_is_replaced_as_ordered() {
    let swap = |authorise: &str| {
        let mut shop = Workshop::with_wren();
        let _ = shop.run(&format!("order open wren 9 {authorise} --consent 'owner, by phone'")).done();
        // Another unit, with another value, and a bit without a name set.
        let left = [("B-000731", "B-000999"), ("13 03 40 56", "55 03 40 98")];
        shop.rewrite("as-found.toml", "left.toml", &left);
        let _ = shop.run("read wren ./left.toml --as left").done();
        shop
    };
    let mut shop = swap("--authorise-unit body");
    assert_snapshot!("module_replaced", shop.run("order show wren"));
    let mut sheet: Sheet = shop.json("handover wren");
    assert!(sheet.changes.iter().all(|change| change.account == "with-unit"), "{:#?}", sheet.changes);
    assert_eq!((sheet.totals.changed_as_agreed, sheet.totals.changed_otherwise, sheet.undone.len()), (1, 0, 0));
    assert!(sheet.totals.undeclared_bits > 0 && sheet.modules.iter().any(|module| module.renewed));
    let authorised = sheet.agreements.pop().expect("an order").authorised;
    assert_eq!((authorised[0].field.as_str(), authorised[0].value.as_deref()), ("body", None));
    assert_eq!(shop.run("order close wren").exit, 0);

    let mut shop = swap("--authorise-unit cluster");
    let sheet: Sheet = shop.json("handover wren");
    let accounts: Vec<&str> = sheet.changes.iter().map(|change| change.account.as_str()).collect();
    assert_eq!(accounts, ["another-hand", "cannot-tell"], "a bit without a name may be a measured value");
    assert_eq!((sheet.totals.changed_as_agreed, sheet.totals.changed_otherwise), (0, 1));
    assert_eq!((sheet.undone[0].what.as_str(), sheet.undone[0].value.as_deref()), ("cluster", None));
    let text = shop.run("handover wren --language de").done().out;
    assert!(text.contains("cluster: anderes Gerät oder andere Software: freigegeben, nicht"), "{text}");
}

/// An estimate is filed with the consent, shown with the order and printed on the sheet; without one nothing is written.
#[test]
fn an_estimate() {
    let mut shop = Workshop::with_wren();
    let line = "order open wren 7 --authorise body.lock_by_horn=on --consent 'owner' --estimate '60.00 EUR'";
    let filed: OrderFiled = shop.json(line);
    assert_eq!(filed.estimate.as_deref(), Some("60.00 EUR"));
    let _ = shop.run("order extend wren --estimate 'at most 90.00 EUR' --consent 'owner, by phone'").done();
    let shown: OrderInFull = shop.json("order show wren");
    let estimates: Vec<_> = shown.terms.iter().map(|terms| terms.estimate.as_deref()).collect();
    assert_eq!(estimates, [Some("60.00 EUR"), Some("at most 90.00 EUR")]);
    for line in ["order show wren", "entry wren 4"] {
        assert!(shop.run(line).done().out.contains("estimate        at most 90.00 EUR"), "{line}");
    }
    let sheet = shop.run("handover wren").done().out;
    let sheet = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(sheet.contains("60.00 EUR (14 March 2026); at most 90.00 EUR (14 March 2026)"), "{sheet}");
    assert!(plain_git::text(&shop.repository(), &["show", "wren~1:entry.toml"]).contains("estimate = \"60.00 EUR\""));
    assert!(shop.refused("order extend wren --estimate ' ' --consent x").err.contains("the estimate is blank"));
    assert_eq!(shop.run("audit wren").exit, 0);
    let mut without = opened();
    assert!(!plain_git::text(&without.repository(), &["show", "wren:entry.toml"]).contains("estimate"));
    assert!(!without.run("handover wren").done().out.contains("Estimate agreed to"));
}

/// What a workshop asks on a Monday: what is open over all cars.
#[test]
fn what_is_open_over_all_cars() {
    let mut shop = opened();
    let _ = shop.run("enrol plover").done();
    let open = shop.json::<OpenWork>("vehicles --open");
    assert_eq!((open.looked_at, open.vehicles.len()), (2, 1), "{open:?}");
    let order = &open.vehicles[0].orders[0];
    assert_eq!((order.order.as_str(), order.not_done.len()), ("2026-0412", 2), "{order:?}");
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'as ordered'").done();
    let wren = shop.json::<OpenWork>("vehicles --open").vehicles.remove(0);
    assert_eq!((wren.on_trial.len(), wren.only_stated.len()), (1, 0), "{wren:?}");
    // Nobody has read it back for more than a week; nothing was filed meanwhile.
    shop.wait_until(shop.now() + time::Duration::days(8));
    let wren = shop.json::<OpenWork>("vehicles --open").vehicles.remove(0);
    assert_eq!(wren.only_stated.iter().map(|work| work.entry).collect::<Vec<_>>(), wren.on_trial, "{wren:?}");
    let screen = shop.run("vehicles --open").done();
    assert!(screen.flat().contains("only stated since 14 Mar 2026"), "{screen}");
    assert!(screen.flat().contains("order show wren"), "{screen}");
}

/// Agreed at the desk before the car is read, as people say it: honest work is as it was agreed to.
#[test]
fn terms_from_the_desk_are_held_by_what_they_mean() {
    let mut shop = Workshop::equipped();
    let _ = shop.run("enrol wren").done();
    let filed = shop.json::<OrderFiled>(
        "order open wren 2026-0412 --authorise body.lane_change_flashes=5 --authorise body.lock_by_horn=ON \
         --authorise body.lock_at_sped=on --authorise bodi.lock_at_speed=on --authorise radio.volume=3 --consent 'owner, at the desk'",
    );
    let doubts: Vec<_> =
        filed.doubts.iter().map(|one| (one.term.as_str(), one.doubt.as_str(), one.near.as_deref())).collect();
    assert_eq!(
        doubts,
        [
            ("body.lock_at_sped", "unknown-setting", Some("body.lock_at_speed")),
            ("bodi.lock_at_speed", "unknown-module", Some("body")),
            ("radio.volume", "nothing-known", None),
        ]
    );
    let _ = shop.run("read wren ./as-found.toml --as found");
    let _ = shop.run("change wren body.lane_change_flashes=5 body.lock_by_horn=on --why 'as ordered'").done();
    let groups = |shop: &mut Workshop| -> Vec<(String, String)> {
        let lines = shop.json::<OrderInFull>("order show wren").lines;
        lines.into_iter().map(|line| (line.what, line.group)).collect()
    };
    let done = |what: &str| (what.to_owned(), "authorised-and-done".to_owned());
    assert_eq!(groups(&mut shop)[..2], [done("body.lane_change_flashes"), done("body.lock_by_horn")]);
    // What was misspelt is put right, what nobody meant is withdrawn; and then nothing is left over.
    let put_right = "order put-right wren body.lock_at_sped --meant body.lock_at_speed=on --consent 'owner, by phone'";
    let _ = shop.run(put_right).done();
    let _ = shop.run("order withdraw wren bodi.lock_at_speed radio.volume --consent 'owner, by phone'").done();
    let _ = shop.run("change wren body.lock_at_speed=on --why 'as ordered'").done();
    let left: Vec<String> = groups(&mut shop).into_iter().map(|(_, group)| group).collect();
    assert_eq!(left, ["authorised-and-done", "authorised-and-done", "authorised-and-done", "withdrawn", "withdrawn"]);
    assert_eq!(shop.run("order withdraw wren radio.volume --consent x").exit, 2);
    assert_eq!(shop.run("order put-right wren radio.volme --meant radio.volume=4 --consent x").exit, 2);
    let _ = shop.run("order close wren").done();
    let _ = shop.run("audit wren").done();
}

/// The seal of another car is that of another car: nobody is accused of having rewritten anything.
#[test]
fn a_seal_of_another_car_is_named_as_that() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("enrol plover").done();
    let _ = shop.run("note plover 'washed'").done();
    let value: serde_json::Value = serde_json::from_str(&shop.run("seal plover --json").done().out).unwrap();
    let seal = value["seal"]["short"].as_str().or(value["short"].as_str()).unwrap().to_owned();
    let audit = shop.run(&format!("audit wren --seal {seal} --json"));
    assert_eq!(audit.exit, 1);
    let value: serde_json::Value = serde_json::from_str(&audit.out).unwrap();
    assert_eq!(value["seals"]["kept"][0]["verdict"], "not-of-this-journal");
    assert_eq!(value["seals"]["kept"][0]["of_vehicle"], "plover");
    assert_eq!(value["seals"]["differs"], serde_json::Value::Null);
    // One that is nobody's here does not hold; which of the two it is, nobody can tell.
    let value: serde_json::Value = serde_json::from_str(&shop.run("seal plover --json").done().out).unwrap();
    let full = value["seal"]["full"].as_str().or(value["full"].as_str()).unwrap().to_owned();
    let last = if full.ends_with('0') { "1" } else { "0" };
    let other = format!("{}{last}", &full[..full.len() - 1]);
    let audit = shop.run(&format!("audit wren --seal {other} --json"));
    assert!(audit.exit == 1 && audit.out.contains("does-not-hold"), "{audit}");
}
