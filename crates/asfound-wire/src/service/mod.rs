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

/// The name of a service in the trade's words, by its request's first byte. Services that ISO 14229-1 does not have are those of
/// ISO 15031-5 (SAE J1979) and ISO 14230-3 (names from memory); `None` for others.
pub const fn service_name(service: u8) -> Option<&'static str> {
    Some(match service {
        0x01 => "request current powertrain diagnostic data",
        0x02 => "request powertrain freeze frame data",
        0x03 => "request emission-related trouble codes",
        0x04 => "clear emission-related diagnostic information",
        0x05 => "request oxygen sensor monitoring test results",
        0x06 => "request on-board monitoring test results",
        0x07 => "request emission-related trouble codes of the driving cycle",
        0x08 => "request control of on-board system",
        0x09 => "request vehicle information",
        0x0A => "request permanent emission-related trouble codes",
        0x12 => "read freeze frame data",
        0x13 => "read diagnostic trouble codes",
        0x17 => "read status of diagnostic trouble codes",
        0x18 => "read diagnostic trouble codes by status",
        0x1A => "read ECU identification",
        0x20 => "stop diagnostic session",
        0x21 => "read data by local identifier",
        0x30 => "input output control by local identifier",
        0x32 => "stop routine by local identifier",
        0x33 => "request routine results by local identifier",
        0x3B => "write data by local identifier",
        0x81 => "start communication",
        0x82 => "stop communication",
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

/// The name of a routine that ISO 14229-1, annex F, has for every module (names as udsoncan 1.26.1 has them); `None` for others.
pub const fn routine_name(routine: u16) -> Option<&'static str> {
    Some(match routine {
        0xE200 => "deployLoopRoutineID",
        0xFF00 => "eraseMemory",
        0xFF01 => "checkProgrammingDependencies",
        0xFF02 => "eraseMirrorMemoryDTCs",
        _ => return None,
    })
}
