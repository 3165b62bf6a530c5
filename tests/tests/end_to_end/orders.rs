//! Work orders, from the customer's consent to the closing.

use asfound_tests::Workshop;
use asfound_tests::json::{Entries, OrderFiled, OrderInFull, Orders};
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
    let _ = shop.run("put-back wren 4 --done --why 'not ordered'").done();
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
        ("order open wren 'a b' --consent x", "is no number of an order"),
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
