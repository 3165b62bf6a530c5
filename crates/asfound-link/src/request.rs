//! Everything that can be asked of a car.

use std::fmt;

/// The session to ask for (10, ISO 14229-1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ReadSession {
    /// 01, in which every module is when nobody asked for anything.
    Default,
    /// 03, in which some modules tell more.
    Extended,
}

/// A report of trouble codes (19, ISO 14229-1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CodesReport {
    /// 01: how many codes have one of these status bits, and in what format they are.
    Count {
        /// The status bits.
        mask: u8,
    },
    /// 02: the codes that have one of these status bits.
    List {
        /// The status bits.
        mask: u8,
    },
    /// 04: all snapshots of a code.
    Snapshots {
        /// The code as it travels.
        code: [u8; 3],
    },
    /// 06: all extended data of a code.
    Extended {
        /// The code as it travels.
        code: [u8; 3],
    },
}

/// Everything that can be asked of a car, and all that ever leaves for one of its modules.
///
/// There is no variant that alters, clears, resets, controls, unlocks or starts anything, and no way to send bytes that are
/// not one of these.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ReadRequest {
    /// 22: the record behind an identifier (ISO 14229-1).
    Record(u16),
    /// 19: trouble codes (ISO 14229-1).
    Codes(CodesReport),
    /// 3E 00: is anybody there (ISO 14229-1).
    Present,
    /// 10: a session (ISO 14229-1).
    Session(ReadSession),
    /// 01: a parameter as it is now (ISO 15031-5, SAE J1979).
    Current(u8),
    /// 02: a parameter of a stored frame (ISO 15031-5, SAE J1979).
    Stored {
        /// The parameter.
        parameter: u8,
        /// The frame.
        frame: u8,
    },
    /// 09: an item of what the vehicle says of itself (ISO 15031-5, SAE J1979).
    Vehicle(u8),
}

impl ReadRequest {
    /// The services that there are, each by its request's first byte.
    pub const SERVICES: [u8; 7] = [0x01, 0x02, 0x09, 0x10, 0x19, 0x22, 0x3E];

    /// The service: the request's first byte.
    pub const fn service(self) -> u8 {
        match self {
            Self::Record(_) => 0x22,
            Self::Codes(_) => 0x19,
            Self::Present => 0x3E,
            Self::Session(_) => 0x10,
            Self::Current(_) => 0x01,
            Self::Stored { .. } => 0x02,
            Self::Vehicle(_) => 0x09,
        }
    }

    /// The request as it travels.
    pub fn bytes(self) -> Vec<u8> {
        let mut bytes = vec![self.service()];
        bytes.extend(self.echoed());
        match self {
            Self::Codes(CodesReport::Count { mask } | CodesReport::List { mask }) => bytes.push(mask),
            // FF: every record of them.
            Self::Codes(CodesReport::Snapshots { code } | CodesReport::Extended { code }) => {
                bytes.extend(code);
                bytes.push(0xFF);
            }
            _ => {}
        }
        bytes
    }

    /// What follows the service, and has to follow it in a positive response.
    pub(crate) fn echoed(self) -> Vec<u8> {
        match self {
            Self::Record(identifier) => identifier.to_be_bytes().to_vec(),
            Self::Codes(CodesReport::Count { .. }) | Self::Session(ReadSession::Default) => vec![0x01],
            Self::Codes(CodesReport::List { .. }) => vec![0x02],
            Self::Codes(CodesReport::Snapshots { .. }) => vec![0x04],
            Self::Codes(CodesReport::Extended { .. }) => vec![0x06],
            Self::Present => vec![0x00],
            Self::Session(ReadSession::Extended) => vec![0x03],
            Self::Current(parameter) | Self::Vehicle(parameter) => vec![parameter],
            Self::Stored { parameter, frame } => vec![parameter, frame],
        }
    }
}

/// The bytes in hexadecimal.
impl fmt::Display for ReadRequest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bytes: Vec<String> = self.bytes().iter().map(|byte| format!("{byte:02X}")).collect();
        f.pad(&bytes.join(" "))
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use proptest::prelude::*;

    use super::*;

    pub(crate) fn any_request() -> impl Strategy<Value = ReadRequest> {
        prop_oneof![
            any::<u16>().prop_map(ReadRequest::Record),
            any::<u8>().prop_map(|mask| ReadRequest::Codes(CodesReport::Count { mask })),
            any::<u8>().prop_map(|mask| ReadRequest::Codes(CodesReport::List { mask })),
            any::<[u8; 3]>().prop_map(|code| ReadRequest::Codes(CodesReport::Snapshots { code })),
            any::<[u8; 3]>().prop_map(|code| ReadRequest::Codes(CodesReport::Extended { code })),
            Just(ReadRequest::Present),
            Just(ReadRequest::Session(ReadSession::Default)),
            Just(ReadRequest::Session(ReadSession::Extended)),
            any::<u8>().prop_map(ReadRequest::Current),
            any::<[u8; 2]>().prop_map(|[parameter, frame]| ReadRequest::Stored { parameter, frame }),
            any::<u8>().prop_map(ReadRequest::Vehicle),
        ]
    }

    /// The forms that the standards give these requests (ISO 14229-1, SAE J1979; from memory, held against udsoncan in the tests of the
    /// simulated vehicle).
    #[test]
    fn requests_travel_as_the_standards_say() {
        let code = [0x1A, 0x04, 0x12];
        for (request, bytes) in [
            (ReadRequest::Record(0xF190), "22 F1 90"),
            (ReadRequest::Codes(CodesReport::Count { mask: 0xAF }), "19 01 AF"),
            (ReadRequest::Codes(CodesReport::List { mask: 0x09 }), "19 02 09"),
            (ReadRequest::Codes(CodesReport::Snapshots { code }), "19 04 1A 04 12 FF"),
            (ReadRequest::Codes(CodesReport::Extended { code }), "19 06 1A 04 12 FF"),
            (ReadRequest::Present, "3E 00"),
            (ReadRequest::Session(ReadSession::Default), "10 01"),
            (ReadRequest::Session(ReadSession::Extended), "10 03"),
            (ReadRequest::Current(0x0D), "01 0D"),
            (ReadRequest::Stored { parameter: 0x0C, frame: 0 }, "02 0C 00"),
            (ReadRequest::Vehicle(0x02), "09 02"),
        ] {
            assert_eq!(request.to_string(), bytes);
        }
    }

    proptest! {
        #[test]
        fn nothing_but_reading_can_be_asked(request in any_request()) {
            let bytes = request.bytes();
            prop_assert!(ReadRequest::SERVICES.contains(&bytes[0]));
            match bytes[0] {
                0x10 => prop_assert!(bytes.len() == 2 && (bytes[1] == 1 || bytes[1] == 3)),
                0x3E => prop_assert_eq!(bytes.len(), 2),
                0x19 => prop_assert!(matches!(bytes[1], 1 | 2 | 4 | 6)),
                0x22 => prop_assert_eq!(bytes.len(), 3),
                _ => prop_assert!(bytes.len() <= 3),
            }
        }
    }
}
