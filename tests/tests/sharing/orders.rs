//! Work orders where two benches have gone on apart.

use asfound_tests::Workshop;
use asfound_tests::json::OrderInFull;

use crate::support::{reasons, refusal, share, two_benches};

const OPEN: &str = "order open wren 2026-0412 --authorise body.lane_change_flashes=5 --consent 'owner, at the desk'";
const FIVE: &str = "change wren body.lane_change_flashes=5 --why 'bench two: five'";

/// Two benches that share `wren`, whose order 2026-0412 is open.
fn two_benches_with_an_order() -> Workshop {
    let mut shop = two_benches();
    let _ = shop.run(OPEN).done();
    let _ = share(&mut shop, "garage", "./cars.git");
    let _ = share(&mut shop, "two", "./cars.git");
    shop
}

#[test]
fn work_under_one_order_from_two_benches_stands_in_it() {
    let mut shop = two_benches_with_an_order();
    let _ = shop.run(&format!("--garage ./two {FIVE}")).done();
    let _ = shop.run("change wren cluster.needle_sweep=on --why 'bench one: sweep'").done();
    let _ = shop
        .run(
            "order extend wren --authorise cluster.needle_sweep=on --consent 'owner, by phone' --why 'bench one: more'",
        )
        .done();
    let _ = share(&mut shop, "two", "./cars.git");
    assert_eq!(share(&mut shop, "garage", "./cars.git").outcome, "brought-together");
    let order: OrderInFull = shop.json("order show wren");
    assert_eq!((order.closed, order.can_be_closed), (None, true), "{order:?}");
    let groups: Vec<&str> = order.lines.iter().map(|line| line.group.as_str()).collect();
    assert_eq!(groups, ["authorised-and-done", "done-agreed-to-afterwards"], "{order:?}");
    // Nothing was filed since at the other bench, so that the order can be closed there and comes back closed.
    let _ = share(&mut shop, "two", "./cars.git");
    let _ = shop.run("--garage ./two order close wren").done();
    let _ = shop.run("note wren 'bench one: the lamp was dirty'").done();
    let _ = share(&mut shop, "two", "./cars.git");
    assert_eq!(share(&mut shop, "garage", "./cars.git").outcome, "brought-together");
    assert!(shop.json::<OrderInFull>("order show wren").closed.is_some());
    let _ = shop.run("audit wren").done();
}

#[test]
fn an_order_is_not_opened_twice() {
    let mut shop = two_benches();
    let _ = shop.run(&format!("--garage ./two {OPEN}")).done();
    let _ = shop.run("order open wren 2026-0413 --consent 'owner, by phone'").done();
    let _ = share(&mut shop, "two", "./cars.git");
    let (kind, message) = refusal(&mut shop, "garage", "./cars.git");
    assert_eq!(kind, "does-not-follow");
    assert!(message.ends_with("it opens a work order, and entry 3 has opened order 2026-0412"), "{message}");
}

#[test]
fn work_does_not_slip_out_of_its_order() {
    let mut shop = two_benches_with_an_order();
    let _ = shop.run("--garage ./two order close wren").done();
    let _ = shop.run(FIVE).done();
    let _ = share(&mut shop, "two", "./cars.git");
    let (_, message) = refusal(&mut shop, "garage", "./cars.git");
    assert!(message.ends_with("it was filed under order 2026-0412, which entry 4 has closed"), "{message}");
}

#[test]
fn an_order_is_not_closed_over_work_that_was_not_known() {
    let mut shop = two_benches_with_an_order();
    let _ = shop.run("--garage ./two change wren cluster.needle_sweep=on --why 'nobody asked'").done();
    let _ = shop.run("order close wren").done();
    let _ = share(&mut shop, "two", "./cars.git");
    let (_, message) = refusal(&mut shop, "garage", "./cars.git");
    assert!(message.ends_with("it closes order 2026-0412 without knowing of entry 4"), "{message}");
    // A note that it did not know of is no reason.
    let mut shop = two_benches_with_an_order();
    let _ = shop.run("--garage ./two note wren 'bench two: washed'").done();
    let _ = shop.run("order close wren --why 'bench one: closed'").done();
    let _ = share(&mut shop, "two", "./cars.git");
    assert_eq!(share(&mut shop, "garage", "./cars.git").outcome, "brought-together");
    assert_eq!(reasons(&mut shop, "garage").last().map(String::as_str), Some("5 order-closed: bench one: closed"));
}
