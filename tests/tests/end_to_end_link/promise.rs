//! Every byte that any command ever sent to the car, held against the list of what may be sent.

use asfound_simulated::{Fault, Faults, IpServer};

use super::{MODULES, READY, read_from, shop, wren};

/// Services that read: ISO 14229-1 (10 with 01 or 03, 19, 22, 3E), SAE J1979 (01, 02, 09).
pub fn reads(request: &[u8]) -> bool {
    match request {
        [0x22 | 0x02, _, _] | [0x3E, 0x00] | [0x10, 0x01 | 0x03] | [0x01 | 0x09, _] => true,
        [0x19, rest @ ..] => matches!(rest, [0x01 | 0x02, _] | [0x04 | 0x06, _, _, _, 0xFF]),
        _ => false,
    }
}

/// How many requests were sent; panics where anything else was.
fn holds(mut bytes: &[u8]) -> usize {
    let mut requests = 0;
    while let [0x02, 0xFD, high, low, a, b, c, d, rest @ ..] = bytes {
        let (content, after) = rest.split_at(u32::from_be_bytes([*a, *b, *c, *d]) as usize);
        let may = match (u16::from_be_bytes([*high, *low]), content) {
            (0x0001, []) | (0x0005, [_, _, 0, 0, 0, 0, 0]) | (0x0008, [_, _]) => true,
            (0x8001, [_, _, _, _, request @ ..]) => {
                requests += 1;
                reads(request)
            }
            _ => false,
        };
        assert!(may, "{high:02X}{low:02X} {content:02X?}");
        bytes = after;
    }
    assert!(bytes.is_empty(), "{bytes:02X?}");
    requests
}

#[test]
fn nothing_but_reading_ever_leaves_the_program() {
    let mut vehicle = wren();
    // Whatever goes wrong, it stays with that. What costs seconds each time is left to the tests without a clock.
    let kinds = [Fault::Busy, Fault::Twice, Fault::SomethingElse, Fault::NoMemory, Fault::WrongLength];
    vehicle.faults = Faults::seeded(23, kinds.map(|fault| (fault, 15)));
    let server = IpServer::start(vehicle).unwrap();
    let mut shop = shop();
    let read = read_from(&server);
    for line in [
        format!("{read} {READY} {MODULES} --partial --snapshots --extended-data"),
        format!("{read} --ready --partial --extended-session --status-bits 09"),
        format!("{read} --ready --partial --without-codes --ask body"),
    ] {
        let _ = shop.run(&line).done();
    }
    assert!(holds(server.vehicle().heard()) > 300);
    let services: std::collections::BTreeSet<u8> =
        server.vehicle().requests().iter().map(|(_, request)| request[0]).collect();
    assert!(services.is_superset(&[0x01, 0x10, 0x19, 0x22].into()), "{services:02X?}");
}
