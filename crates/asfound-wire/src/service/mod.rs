//! What a message means: services of ISO 14229-1 as values.
//!
//! Numbers are from memory of ISO 14229-1:2020, agreed by udsoncan 1.26.1 and by tshark 4.0.17 on recorded logs (see the tests).
//! What is not known is kept with its bytes and never guessed.

mod codes_report;
mod refusal;
mod request;
mod response;
mod split;

pub use codes_report::{CodeStatus, CodesReport};
pub use refusal::Refusal;
pub use request::Request;
pub use response::Response;
pub use split::{SplitResponse, split_records};

/// The name of a service in the trade's words, by its request's first byte; `None` for one that ISO 14229-1 does not have.
pub const fn service_name(service: u8) -> Option<&'static str> {
    Some(match service {
        0x10 => "diagnostic session control",
        0x11 => "ECU reset",
        0x14 => "clear diagnostic information",
        0x19 => "read DTC information",
        0x22 => "read data by identifier",
        0x23 => "read memory by address",
        0x24 => "read scaling data by identifier",
        0x27 => "security access",
        0x28 => "communication control",
        0x29 => "authentication",
        0x2A => "read data by periodic identifier",
        0x2C => "dynamically define data identifier",
        0x2E => "write data by identifier",
        0x2F => "input output control by identifier",
        0x31 => "routine control",
        0x34 => "request download",
        0x35 => "request upload",
        0x36 => "transfer data",
        0x37 => "request transfer exit",
        0x38 => "request file transfer",
        0x3D => "write memory by address",
        0x3E => "tester present",
        0x83 => "access timing parameter",
        0x84 => "secured data transmission",
        0x85 => "control DTC setting",
        0x86 => "response on event",
        0x87 => "link control",
        _ => return None,
    })
}
