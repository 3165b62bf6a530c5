//! Why a module said no.

use std::fmt;

/// A negative response code (ISO 14229-1, annex A; those named are agreed by udsoncan 1.26.1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Refusal(pub u8);

impl Refusal {
    /// The module works on it; another response follows.
    pub const PENDING: Self = Self(0x78);
    /// The module is busy; the request is to be made again.
    pub const BUSY: Self = Self(0x21);

    /// The code's name in ISO 14229-1, where it has one.
    pub const fn name(self) -> Option<&'static str> {
        Some(match self.0 {
            0x10 => "general reject",
            0x11 => "service not supported",
            0x12 => "sub-function not supported",
            0x13 => "incorrect message length or invalid format",
            0x14 => "response too long",
            0x21 => "busy, repeat request",
            0x22 => "conditions not correct",
            0x24 => "request sequence error",
            0x25 => "no response from subnet component",
            0x26 => "failure prevents execution of requested action",
            0x31 => "request out of range",
            0x33 => "security access denied",
            0x34 => "authentication required",
            0x35 => "invalid key",
            0x36 => "exceeded number of attempts",
            0x37 => "required time delay not expired",
            0x70 => "upload or download not accepted",
            0x71 => "transfer data suspended",
            0x72 => "general programming failure",
            0x73 => "wrong block sequence counter",
            0x78 => "request correctly received, response pending",
            0x7E => "sub-function not supported in active session",
            0x7F => "service not supported in active session",
            0x81 => "rpm too high",
            0x82 => "rpm too low",
            0x83 => "engine is running",
            0x84 => "engine is not running",
            0x85 => "engine run time too low",
            0x86 => "temperature too high",
            0x87 => "temperature too low",
            0x88 => "vehicle speed too high",
            0x89 => "vehicle speed too low",
            0x8A => "throttle or pedal too high",
            0x8B => "throttle or pedal too low",
            0x8C => "transmission range not in neutral",
            0x8D => "transmission range not in gear",
            0x8F => "brake switch not closed",
            0x90 => "shifter lever not in park",
            0x91 => "torque converter clutch locked",
            0x92 => "voltage too high",
            0x93 => "voltage too low",
            _ => return None,
        })
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.name() {
            Some(name) => write!(f, "{:02X} {name}", self.0),
            None => write!(f, "{:02X}", self.0),
        }
    }
}
