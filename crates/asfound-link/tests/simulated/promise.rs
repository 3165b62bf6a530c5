//! What reaches the vehicle, held byte by byte against the list of what may.

use asfound_link::request::ReadRequest;
use asfound_simulated::Vehicle;

/// Holds every byte that was sent to a vehicle against what may be sent: messages of ISO 13400-2 that ask who is there, ask to be let in, say
/// that the tester is there, and carry a request of one of the services that read.
pub fn holds(vehicle: &Vehicle) -> usize {
    let (mut bytes, mut requests) = (vehicle.heard(), 0);
    while let [0x02, 0xFD, high, low, a, b, c, d, rest @ ..] = bytes {
        let length = u32::from_be_bytes([*a, *b, *c, *d]) as usize;
        let (content, after) = rest.split_at(length);
        match u16::from_be_bytes([*high, *low]) {
            0x0001 => assert!(content.is_empty()),
            0x0005 => assert!(matches!(content, [0x0E, 0x80, 0, 0, 0, 0, 0])),
            0x0008 => assert!(matches!(content, [0x0E, 0x80])),
            0x8001 => {
                let [0x0E, 0x80, _, _, service, rest @ ..] = content else { panic!("{content:02X?}") };
                let may = match service {
                    0x02 | 0x22 => rest.len() == 2,
                    0x19 => matches!(rest, [0x01 | 0x02, _] | [0x04 | 0x06, _, _, _, 0xFF]),
                    0x3E => rest == [0x00],
                    0x10 => matches!(rest, [0x01 | 0x03]),
                    0x01 | 0x09 => rest.len() == 1,
                    _ => false,
                };
                assert!(may, "{content:02X?}");
                assert!(ReadRequest::SERVICES.contains(service));
                requests += 1;
            }
            other => panic!("a message of type {other:04X} was sent"),
        }
        bytes = after;
    }
    assert!(bytes.is_empty(), "{bytes:02X?}");
    requests
}
