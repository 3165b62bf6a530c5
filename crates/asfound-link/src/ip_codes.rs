//! The codes of ISO 13400-2:2019 in words (from memory; doipclient 1.2.2 has the same).

/// The response code of a routing activation.
pub const fn activation_text(code: u8) -> &'static str {
    match code {
        0x00 => "unknown tester address",
        0x01 => "all connections are taken",
        0x02 => "another tester address is active on this connection",
        0x03 => "the tester address is active on another connection",
        0x04 => "authentication is missing",
        0x05 => "the confirmation was rejected",
        0x06 => "unsupported activation type",
        0x07 => "a connection with TLS is required",
        0x10 => "active",
        0x11 => "somebody has to confirm it",
        0xE0..=0xFE => "a reason of the vehicle maker's",
        _ => "a reason that the standard does not name",
    }
}

/// The code by which a gateway refuses to pass a request on.
pub const fn gateway_text(code: u8) -> &'static str {
    match code {
        0x02 => "invalid tester address",
        0x03 => "no module has this address",
        0x04 => "the message is too large",
        0x05 => "out of memory",
        0x06 => "the module cannot be reached",
        0x07 => "unknown network",
        0x08 => "transport protocol error",
        _ => "a reason that the standard does not name",
    }
}

/// The code by which a gateway refuses a header.
pub const fn header_text(code: u8) -> &'static str {
    match code {
        0x00 => "incorrect pattern",
        0x01 => "unknown payload type",
        0x02 => "message too large",
        0x03 => "out of memory",
        0x04 => "invalid payload length",
        _ => "a reason that the standard does not name",
    }
}
