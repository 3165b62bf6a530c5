//! One message of diagnostics on IP.

use crate::frame::Timestamp;
use crate::secrets;

/// What a message is (payload types of ISO 13400-2:2019 table 17, from memory, agreed by doipclient 1.2.2).
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum IpKind {
    /// A diagnostic message, type 8001: logical addresses and the payload. Seeds and keys are blanked.
    Diagnostic {
        /// The logical address of the sender.
        source: u16,
        /// The logical address of who is meant.
        target: u16,
        /// The payload, as on any other transport.
        payload: Vec<u8>,
        /// Whether seeds or keys were blanked in it.
        blanked: bool,
    },
    /// The vehicle's gateway took a diagnostic message (8002) or refused it (8003) with this code.
    Acknowledged {
        /// The logical address of the module that was meant.
        source: u16,
        /// The logical address of the tester.
        target: u16,
        /// `None` for taken; the code of the refusal otherwise.
        refused: Option<u8>,
    },
    /// The tester asks to be let in (0005).
    ActivationRequest {
        /// The tester's logical address.
        tester: u16,
    },
    /// The gateway's answer (0006).
    ActivationResponse {
        /// The tester's logical address.
        tester: u16,
        /// The gateway's logical address.
        gateway: u16,
        /// The response code; 10 is success.
        code: u8,
    },
    /// The vehicle tells who it is (0004): VIN as it travels, and the gateway's logical address.
    Announcement {
        /// Seventeen bytes.
        vin: [u8; 17],
        /// The gateway's logical address.
        gateway: u16,
    },
    /// The gateway could not make anything of a header (0000).
    HeaderRefused {
        /// Why.
        code: u8,
    },
    /// The gateway asks whether the tester is still there (0007).
    AliveRequest,
    /// Any other type, or one of the above that is shorter than it must be.
    Other {
        /// The payload type.
        kind: u16,
        /// How many bytes it had.
        length: usize,
    },
}

/// One message of diagnostics on IP.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IpMessage {
    /// When its last byte was captured.
    pub moment: Option<Timestamp>,
    /// Whether the vehicle's side sent it: the side with the port of ISO 13400-2.
    pub from_vehicle: bool,
    /// What it is.
    pub kind: IpKind,
}

impl IpKind {
    /// Reads the payload of a message of type `kind`.
    pub(super) fn read(kind: u16, payload: &[u8]) -> Self {
        let word = |at: usize| payload.get(at..at + 2).map(|bytes| u16::from_be_bytes([bytes[0], bytes[1]]));
        let read = || match kind {
            0x8001 => {
                let mut bytes = payload.get(4..)?.to_vec();
                let blanked = secrets::blank(&mut bytes);
                Some(Self::Diagnostic { source: word(0)?, target: word(2)?, payload: bytes, blanked })
            }
            0x8002 | 0x8003 => {
                let code = *payload.get(4)?;
                let refused = (kind == 0x8003).then_some(code);
                Some(Self::Acknowledged { source: word(0)?, target: word(2)?, refused })
            }
            0x0005 => Some(Self::ActivationRequest { tester: word(0)? }),
            0x0006 => Some(Self::ActivationResponse { tester: word(0)?, gateway: word(2)?, code: *payload.get(4)? }),
            0x0004 => Some(Self::Announcement { vin: payload.get(..17)?.try_into().ok()?, gateway: word(17)? }),
            0x0000 => Some(Self::HeaderRefused { code: *payload.first()? }),
            0x0007 => Some(Self::AliveRequest),
            _ => None,
        };
        read().unwrap_or(Self::Other { kind, length: payload.len() })
    }
}
