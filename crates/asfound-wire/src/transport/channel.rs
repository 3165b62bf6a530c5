//! Who sends: an identifier on a bus, with an address byte where the addressing has one.

use crate::frame::{CanFrame, CanId, Interface};

/// Where the transport's own bytes begin.
///
/// Normal and normal fixed addressing (ISO 15765-2) put them first. Extended addressing puts a target
/// address before them, mixed addressing an address extension; both look the same on the bus.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Addressing {
    /// At the first byte.
    Normal,
    /// At the second byte, after an address.
    Extended,
}

impl Addressing {
    /// How many bytes of address stand in front.
    pub const fn offset(self) -> usize {
        match self {
            Self::Normal => 0,
            Self::Extended => 1,
        }
    }
}

/// One direction of a conversation on a CAN bus.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CanChannel {
    /// Which bus.
    pub interface: Interface,
    /// The identifier of its frames.
    pub id: CanId,
    /// The byte in front, in extended and mixed addressing.
    pub address: Option<u8>,
}

impl CanChannel {
    /// The channel of a frame under an addressing; `None` for a frame that is too short to have one.
    pub fn of(frame: &CanFrame, addressing: Addressing) -> Option<Self> {
        let address = match addressing {
            Addressing::Normal => None,
            Addressing::Extended => Some(*frame.data().first()?),
        };
        Some(Self { interface: frame.interface, id: frame.id, address })
    }

    /// The addressing.
    pub const fn addressing(&self) -> Addressing {
        if self.address.is_some() { Addressing::Extended } else { Addressing::Normal }
    }
}
