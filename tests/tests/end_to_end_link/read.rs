//! Readings that the program takes itself.

use std::fs;

use asfound_simulated::{Fault, Faults, IpServer};
use asfound_tests::{json, plain_git};

use super::{MODULES, READY, read_from, shop, wren};

#[test]
fn a_whole_car_is_read_and_filed_with_the_exchange() {
    let server = IpServer::start(wren()).unwrap();
    let mut shop = shop();
    let filed: json::ReadingFiled = shop.json(&format!("{} {READY} {MODULES}", read_from(&server)));
    assert_eq!(filed.entry.number, 2);
    assert_eq!(filed.entry.reading.odometer_km, Some(84_210));
    assert_eq!(filed.entry.reading.supply_voltage.as_deref(), Some("12.6"));
    assert!(!filed.entry.reading.partial);
    assert_eq!(filed.exchange, Some(vec![]));
    assert_eq!(filed.not_read, []);
    let brakes = filed.trouble_codes.iter().find(|module| module.module == "brakes").unwrap();
    assert_eq!(brakes.new.len(), 1);

    // What was asked and answered is kept, and can be looked into.
    let exchange = plain_git::git(&shop.repository(), &["show", "wren:evidence/2/exchange.pcap"]).stdout;
    shop.write("exchange.pcap", exchange);
    let shown = shop.run("wire show ./exchange.pcap").done();
    assert!(shown.out.contains("IP 000E"), "{shown}");

    // The journal knows the addresses now, and nothing differs.
    let again: json::ReadingFiled = shop.json(&format!("{} --ready", read_from(&server)));
    assert_eq!((again.differences, again.identities), (vec![], vec![]));
    assert_eq!(again.records_changed, Some(0));
    assert!(again.records_same.unwrap() > 14);
    let audited = shop.run("audit wren").done();
    assert!(!audited.out.is_empty());
}

#[test]
fn what_somebody_altered_is_seen() {
    let server = IpServer::start(wren()).unwrap();
    let mut shop = shop();
    let _ = shop.run(&format!("{} {READY} {MODULES}", read_from(&server))).done();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    server.vehicle().modules.get_mut(&0x0E).unwrap().records.insert(0x0D01, vec![0x4D, 0x83, 0x55, 0x06, 0x19, 0xD4]);
    let filed: json::ReadingFiled = shop.json(&format!("{} --ready --as left", read_from(&server)));
    assert!(filed.read_back.iter().any(|read| read.field == "body.lane_change_flashes"), "{filed:?}");
}

#[test]
fn a_module_that_is_silent_is_noted_as_such() {
    let mut vehicle = wren();
    vehicle.modules.remove(&0x2A);
    let server = IpServer::start(vehicle).unwrap();
    let mut shop = shop();
    let filed: json::ReadingFiled = shop.json(&format!("{} {READY} {MODULES}", read_from(&server)));
    let told = filed.exchange.unwrap();
    assert!(told.contains(&"no answer at all: climate".to_owned()), "{told:?}");
}

#[test]
fn faults_cost_time_and_not_truth() {
    let mut vehicle = wren();
    let kinds = [Fault::Busy, Fault::Twice, Fault::SomethingElse, Fault::NoMemory].map(|fault| (fault, 30));
    vehicle.faults = Faults::seeded(3, kinds);
    let server = IpServer::start(vehicle).unwrap();
    let mut shop = shop();
    let _ = shop.run(&format!("{} {READY} {MODULES} --partial", read_from(&server))).done();
    server.vehicle().faults = Faults::none();
    let again: json::ReadingFiled = shop.json(&format!("{} --ready --partial", read_from(&server)));
    assert_eq!((again.differences, again.identities), (vec![], vec![]));
}

#[test]
fn a_connection_that_breaks_files_nothing_unless_a_part_is_enough() {
    let mut vehicle = wren();
    vehicle.cut_after = Some(60);
    let server = IpServer::start(vehicle).unwrap();
    let mut shop = shop();
    let refused = shop.refused(&format!("{} {READY} {MODULES}", read_from(&server)));
    assert_eq!(refused.exit, 3);
    assert!(refused.err.contains("the reading is not whole; nothing was filed"), "{refused}");
    server.vehicle().cut_after = Some(120);
    let filed: json::ReadingFiled = shop.json(&format!("{} {READY} {MODULES} --partial", read_from(&server)));
    assert!(filed.entry.reading.partial);
    assert!(filed.exchange.unwrap().iter().any(|line| line.contains("the vehicle ended the connection")));
}

#[test]
fn nothing_lies_in_the_garage_of_a_reading_that_was_refused() {
    let server = IpServer::start(wren()).unwrap();
    let mut shop = shop();
    let refused = shop.refused(&format!("{} {MODULES}", read_from(&server)));
    assert!(server.vehicle().heard().is_empty(), "{refused}");
    assert!(fs::read_dir(shop.garage()).unwrap().count() > 0);
}
