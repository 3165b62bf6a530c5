//! Cars that are not read, and why.

use std::net::TcpListener;

use asfound_simulated::IpServer;
use asfound_tests::json;

use super::{MODULES, READY, read_from, shop, wren};

#[test]
fn nothing_is_sent_before_somebody_says_that_the_car_is_ready() {
    let server = IpServer::start(wren()).unwrap();
    let mut shop = shop();
    let refused = shop.refused(&format!("{} {MODULES}", read_from(&server)));
    assert_eq!(refused.exit, 3);
    for word in ["parking brake", "engine is off", "supply", "--ready"] {
        assert!(refused.flat().contains(word), "{refused}");
    }
    assert!(server.vehicle().heard().is_empty());
}

#[test]
fn another_car_is_not_read() {
    let mut vehicle = wren();
    vehicle.vin = *b"G0MWY41DXJT001186";
    let server = IpServer::start(vehicle).unwrap();
    let mut shop = shop();
    let refused = shop.refused(&format!("{} {READY} {MODULES}", read_from(&server)));
    assert_eq!(refused.exit, 3);
    assert!(
        refused.flat().contains("the car tells the VIN G0MWY41DXJT001186, the journal of wren has G0MSR41E0LT004217")
    );
    // It was asked whose it is, and nothing else.
    let asked: Vec<Vec<u8>> = server.vehicle().requests().iter().map(|(_, request)| request.clone()).collect();
    assert!(asked.iter().all(|request| request == &[0x22, 0xF1, 0x90] || request == &[0x01, 0x0D]), "{asked:02X?}");
}

#[test]
fn a_car_that_is_driven_is_not_read() {
    let mut vehicle = wren();
    vehicle.modules.get_mut(&0x07).unwrap().parameters.insert(0x0D, vec![37]);
    let server = IpServer::start(vehicle).unwrap();
    let refused = shop().refused(&format!("{} {READY} {MODULES}", read_from(&server)));
    assert!(refused.flat().contains("the vehicle is moving, at 37 km/h"), "{refused}");
}

#[test]
fn a_gateway_that_refuses_is_told_in_words() {
    for (code, words) in [(0x01, "01 all connections are taken"), (0x04, "04 authentication is missing")] {
        let mut vehicle = wren();
        vehicle.refuses_activation = Some(code);
        let server = IpServer::start(vehicle).unwrap();
        let refused = shop().refused(&format!("{} {READY} {MODULES}", read_from(&server)));
        assert!(refused.flat().contains(&format!("the gateway refused routing activation: {words}")), "{refused}");
    }
}

#[test]
fn nobody_is_there() {
    let free = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let refused = shop().refused(&format!("read wren --from doip:{free} {READY} {MODULES}"));
    assert_eq!(refused.exit, 2);
    assert!(refused.flat().contains(&format!("no connection to {free}")), "{refused}");
    assert!(refused.flat().contains("switch the ignition on"), "{refused}");
}

#[test]
fn wrong_usage_is_told() {
    let mut shop = shop();
    for (line, words) in [
        ("read wren --from doip:127.0.0.1 --ready", "the journal knows no module's address"),
        ("read wren --from doip:127.0.0.1 --ready --ask body", "nothing tells where body is asked by doip:127.0.0.1"),
        ("read wren --from doip:127.0.0.1 --ready --ask body=0E --ask brakes=0E", "body and brakes have one address"),
        ("read wren --from serial:x --ready", "invalid link `serial:x`"),
        ("read wren --ready", "--from"),
    ] {
        let refused = shop.refused(line);
        assert_eq!(refused.exit, 2, "{refused}");
        assert!(refused.flat().contains(words), "{refused}");
    }
}

#[test]
fn what_cannot_be_asked_is_told_before_anything_is_sent() {
    let server = IpServer::start(wren()).unwrap();
    let mut shop = shop();
    shop.write("found.toml", std::fs::read(super::demo("readings/wren-2026-03-14-found.toml")).unwrap());
    let _ = shop.run("read wren ./found.toml --as found").done();
    let refused = shop.refused(&format!("{} --ready", read_from(&server)));
    assert_eq!(refused.exit, 3);
    assert!(refused.flat().contains("cannot be read this way: lamps record ambient"), "{refused}");
    assert!(server.vehicle().heard().is_empty());
    let filed: json::ReadingFiled = shop.json(&format!("{} --ready --partial", read_from(&server)));
    // What a module refused before is asked for again, and the code is told.
    let refusal = "body: record 0D44 refused: 33 security access denied".to_owned();
    assert_eq!(filed.exchange, Some(vec![refusal]));
    let kept: Vec<&str> = filed.not_read.iter().filter_map(|missing| missing.record.as_deref()).collect();
    assert_eq!(kept, ["ambient"]);
}
