//! What doipclient and udsoncan sent to the simulated vehicle, got from it, and made of it (`tests/oracles/link_doip.py`).

#![allow(clippy::unwrap_used, reason = "in a test that is a failed test, also in its helpers")]

use std::collections::BTreeMap;

use asfound_core::trouble_code::{CodeStatus, TroubleCode};
use asfound_link::ip::IpRequest;
use asfound_link::request::{CodesReport, ReadRequest, ReadSession};
use asfound_simulated::Vehicle;
use serde::Deserialize;

const TESTER: u16 = 0x0E80;

#[derive(Deserialize)]
struct Recorded {
    announcement: Announcement,
    same_vin: String,
    power_mode: u8,
    modules: BTreeMap<String, Module>,
}

#[derive(Deserialize)]
struct Announcement {
    vin: String,
    gateway: u16,
}

#[derive(Deserialize)]
struct Module {
    address: u16,
    activation: String,
    exchanges: Vec<Exchange>,
    codes: Vec<(String, u8)>,
    parameters: BTreeMap<String, f64>,
}

#[derive(Deserialize)]
struct Exchange {
    request: String,
    sent: String,
    answer: String,
}

fn recorded() -> Recorded {
    serde_json::from_str(include_str!("data/doip.json")).unwrap()
}

fn vehicle() -> Vehicle {
    let file = include_bytes!("../../../demo-vehicles/readings/wren-2026-03-14-found.toml");
    let reading = asfound_capture::file::parse_reading(file).unwrap();
    Vehicle::of_reading(&reading, &"G0MSR41E0LT004217".parse().unwrap())
}

fn bytes(text: &str) -> Vec<u8> {
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).unwrap()).collect()
}

/// The request with these bytes.
fn request(bytes: &[u8]) -> ReadRequest {
    match *bytes {
        [0x3E, 0x00] => ReadRequest::Present,
        [0x10, 0x01] => ReadRequest::Session(ReadSession::Default),
        [0x10, 0x03] => ReadRequest::Session(ReadSession::Extended),
        [0x22, a, b] => ReadRequest::Record(u16::from_be_bytes([a, b])),
        [0x19, 0x01, mask] => ReadRequest::Codes(CodesReport::Count { mask }),
        [0x19, 0x02, mask] => ReadRequest::Codes(CodesReport::List { mask }),
        [0x19, 0x04, a, b, c, 0xFF] => ReadRequest::Codes(CodesReport::Snapshots { code: [a, b, c] }),
        [0x19, 0x06, a, b, c, 0xFF] => ReadRequest::Codes(CodesReport::Extended { code: [a, b, c] }),
        [0x01, parameter] => ReadRequest::Current(parameter),
        [0x09, item] => ReadRequest::Vehicle(item),
        _ => panic!("{bytes:02X?}"),
    }
}

#[test]
fn doipclient_sends_the_same_bytes_for_the_same_question() {
    let mut compared = 0;
    for module in recorded().modules.values() {
        assert_eq!(IpRequest::Activation { tester: TESTER }.bytes(), bytes(&module.activation));
        for exchange in &module.exchanges {
            let request = request(&bytes(&exchange.request));
            let sent = IpRequest::Diagnostic { tester: TESTER, module: module.address, request }.bytes();
            assert_eq!(sent, bytes(&exchange.sent), "{request}");
            compared += 1;
        }
    }
    assert!(compared > 100, "{compared}");
}

#[test]
fn doipclient_got_what_the_vehicle_holds() {
    let (recorded, mut vehicle) = (recorded(), vehicle());
    assert_eq!(recorded.announcement.vin.as_bytes(), vehicle.vin);
    assert_eq!(recorded.same_vin.as_bytes(), vehicle.vin);
    assert_eq!(recorded.announcement.gateway, vehicle.gateway);
    // Ready (ISO 13400-2).
    assert_eq!(recorded.power_mode, 1);
    for module in recorded.modules.values() {
        let held = vehicle.modules.get_mut(&module.address).unwrap();
        for exchange in &module.exchanges {
            assert_eq!(
                held.answer(&bytes(&exchange.request)).unwrap(),
                bytes(&exchange.answer),
                "{}",
                exchange.request
            );
        }
    }
}

#[test]
fn udsoncan_and_scapy_read_the_same_out_of_it() {
    let (mut codes, mut parameters) = (0, 0);
    for module in recorded().modules.values() {
        let answer =
            |asked: &str| module.exchanges.iter().find(|one| one.request == asked).map(|one| bytes(&one.answer));
        let list = answer("1902af").unwrap();
        let ours: Vec<(String, u8)> = list[3..]
            .chunks_exact(4)
            .map(|code| {
                let found = TroubleCode::from_three([code[0], code[1], code[2]]);
                (found.to_string(), CodeStatus(code[3]).0)
            })
            .collect();
        assert_eq!(ours, module.codes);
        codes += ours.len();
        for (parameter, value) in &module.parameters {
            let answer = answer(&format!("01{}", parameter.to_lowercase())).unwrap();
            let asked = asfound_link::reading::Asked {
                request: ReadRequest::Current(answer[1]),
                outcome: asfound_link::client::Outcome::Answered(answer),
            };
            let answers = asfound_link::reading::ModuleAnswers { asked: vec![asked], left: Vec::new() };
            let data = asfound_link::reading::vehicle_data([&answers].into_iter());
            let ours = match parameter.as_str() {
                "0C" => f64::from(data.engine_quarters.unwrap()) / 4.0,
                "0D" => f64::from(data.speed.unwrap()),
                "42" => data.supply_voltage.unwrap().to_string().parse().unwrap(),
                other => panic!("{other}"),
            };
            assert!((ours - value).abs() < 1e-9, "{parameter}: {ours} {value}");
            parameters += 1;
        }
    }
    assert_eq!((codes, parameters), (1, 3));
}
