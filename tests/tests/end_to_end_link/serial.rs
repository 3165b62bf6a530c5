//! The car behind a serial-line CAN adapter, which is a pseudo-terminal.

use asfound_simulated::{SerialAdapter, Vehicle};
use asfound_tests::{json, plain_git};

use super::{MODULES, READY, shop, wren};

#[test]
fn a_whole_car_is_read_over_a_can_bus() {
    let adapter = SerialAdapter::start(wren()).unwrap();
    let mut shop = shop();
    let read = format!("read wren --from slcan:{}", adapter.path());
    let filed: json::ReadingFiled = shop.json(&format!("{read} {READY} {MODULES}"));
    assert_eq!(filed.entry.reading.odometer_km, Some(84_210));
    assert_eq!(filed.exchange, Some(vec![]));

    let exchange = plain_git::git(&shop.repository(), &["show", "wren:evidence/2/exchange.log"]).stdout;
    shop.write("exchange.log", exchange);
    let shown = shop.run("wire show ./exchange.log").done();
    assert!(shown.out.contains("18DAF10E"), "{shown}");

    // The journal knows the addresses now, whichever way leads there.
    let again: json::ReadingFiled = shop.json(&format!("{read} --ready"));
    assert_eq!((again.differences, again.identities), (vec![], vec![]));
    only_reads(&adapter.vehicle());
}

/// Every frame that was sent carries a request that reads, or says that the rest of a message may come.
fn only_reads(vehicle: &Vehicle) {
    for frame in vehicle.frames() {
        let data = frame.data();
        let may = match data[0] {
            length @ 1..=7 => super::promise::reads(&data[1..=usize::from(length)]),
            control => control == 0x30,
        };
        assert!(may, "{data:02X?}");
    }
    assert!(vehicle.frames().len() > 200);
}

#[test]
fn adapters_that_are_not_there_are_told() {
    let mut shop = shop();
    let refused = shop.refused(&format!("read wren --from slcan:/dev/no-such-adapter {READY} {MODULES}"));
    assert!(refused.flat().contains("/dev/no-such-adapter: "), "{refused}");
    let refused = shop.refused(&format!("read wren --from slcan:/dev/x@7 {READY} {MODULES}"));
    assert!(refused.flat().contains("invalid bit rate `7`"), "{refused}");
}
