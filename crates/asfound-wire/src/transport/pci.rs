//! What one frame says: its protocol control information (ISO 15765-2, `N_PCI`).

use thiserror::Error;

/// What a receiver asks of a sender.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FlowStatus {
    /// Go on.
    Continue,
    /// Wait for the next flow control.
    Wait,
    /// The message is too long for the receiver; it is given up.
    Overflow,
}

/// One frame of the transport.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pci<'a> {
    /// A whole message.
    Single {
        /// The message.
        data: &'a [u8],
        /// What fills the frame behind it.
        padding: &'a [u8],
    },
    /// The first part of a longer message.
    First {
        /// Bytes in the whole message.
        length: u32,
        /// The first of them.
        data: &'a [u8],
    },
    /// A further part.
    Consecutive {
        /// Counts 1 to 15, then 0 again.
        number: u8,
        /// The bytes; with padding in a message's last frame.
        data: &'a [u8],
    },
    /// The receiver's word on how to go on.
    Flow {
        /// What it asks.
        status: FlowStatus,
        /// Frames until the next flow control; 0 for all.
        block: u8,
        /// The least time between frames, as coded.
        gap: u8,
        /// What fills the frame behind it.
        padding: &'a [u8],
    },
}

/// Why a frame is none of the transport.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Error)]
pub enum PciError {
    /// No byte that could say.
    #[error("the frame is empty")]
    Empty,
    /// The first half byte is above 3.
    #[error("the frame is of no kind that the transport has")]
    Kind,
    /// A length of none, or more than the frame holds.
    #[error("the length does not fit into a single frame")]
    SingleLength,
    /// A first frame that is not filled, or whose message would fit into a single frame.
    #[error("the length does not fit a first frame")]
    FirstLength,
    /// A consecutive frame without data.
    #[error("a frame that should go on with a message has no data")]
    NoData,
    /// A flow control that asks for something that does not exist, or is too short.
    #[error("the flow control is none that exists")]
    Flow,
}

impl<'a> Pci<'a> {
    /// Reads the bytes of a frame after the address, of which there are `offset` (0 or 1) in front.
    #[inline]
    pub fn read(bytes: &'a [u8], offset: usize) -> Result<Self, PciError> {
        let [first, rest @ ..] = bytes else { return Err(PciError::Empty) };
        match first >> 4 {
            0 => Self::single(*first, rest, offset),
            1 => Self::first(*first, rest, offset),
            2 if rest.is_empty() => Err(PciError::NoData),
            2 => Ok(Self::Consecutive { number: first & 0x0F, data: rest }),
            3 => Self::flow(*first, rest),
            _ => Err(PciError::Kind),
        }
    }

    fn single(first: u8, rest: &'a [u8], offset: usize) -> Result<Self, PciError> {
        // Frames of more than 8 bytes have the length in a byte of its own.
        let (length, rest) = if offset + 1 + rest.len() > 8 {
            match (first, rest) {
                (0, [length, rest @ ..]) => (*length, rest),
                _ => return Err(PciError::SingleLength),
            }
        } else {
            (first, rest)
        };
        match rest.split_at_checked(usize::from(length)) {
            Some((data, padding)) if length > 0 => Ok(Self::Single { data, padding }),
            _ => Err(PciError::SingleLength),
        }
    }

    fn first(first: u8, rest: &'a [u8], offset: usize) -> Result<Self, PciError> {
        let frame = offset + 1 + rest.len();
        let [low, rest @ ..] = rest else { return Err(PciError::FirstLength) };
        let length = u32::from(first & 0x0F) << 8 | u32::from(*low);
        let (length, data) = match (length, rest) {
            // Twelve bits of zero: the length follows in 32 bits, and is one that needs them.
            (0, [a, b, c, d, data @ ..]) => match u32::from_be_bytes([*a, *b, *c, *d]) {
                length if length > 4095 => (length, data),
                _ => return Err(PciError::FirstLength),
            },
            _ => (length, rest),
        };
        // A message that a single frame could carry is not sent in several. A single frame of up to 8 bytes has one
        // byte of control, a longer one two.
        let single = if frame <= 8 { frame - 1 } else { frame - 2 } - offset;
        if frame < 8 || data.is_empty() || length as usize <= single {
            return Err(PciError::FirstLength);
        }
        Ok(Self::First { length, data })
    }

    fn flow(first: u8, rest: &'a [u8]) -> Result<Self, PciError> {
        let status = match first & 0x0F {
            0 => FlowStatus::Continue,
            1 => FlowStatus::Wait,
            2 => FlowStatus::Overflow,
            _ => return Err(PciError::Flow),
        };
        match rest {
            [block, gap, padding @ ..] => Ok(Self::Flow { status, block: *block, gap: *gap, padding }),
            _ => Err(PciError::Flow),
        }
    }
}

/// Whether all bytes that fill a frame are the same, as every filler is.
pub(crate) fn is_filler(padding: &[u8]) -> bool {
    padding.windows(2).all(|pair| pair[0] == pair[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The frames of check-values: produced by can-isotp 2.0.7 on a virtual bus.
    #[test]
    fn frames_of_can_isotp_are_read() {
        let first = [0x10, 0x20, 0x62, 0xF1, 0x90, 0x31, 0x47, 0x34];
        assert_eq!(Pci::read(&first, 0), Ok(Pci::First { length: 32, data: &first[2..] }));
        let flow = [0x30, 2, 0];
        assert_eq!(Pci::read(&flow, 0), Ok(Pci::Flow { status: FlowStatus::Continue, block: 2, gap: 0, padding: &[] }));
        let more = [0x24, 0, 0, 0, 0, 0, 0xAA, 0xAA];
        assert_eq!(Pci::read(&more, 0), Ok(Pci::Consecutive { number: 4, data: &more[1..] }));
    }

    #[test]
    fn lengths_that_cannot_be_are_refused() {
        for wrong in [
            &[][..],
            &[0x00, 1, 2],
            &[0x08, 1, 2, 3, 4, 5, 6, 7],
            &[0x03, 1, 2],
            &[0x10, 0x07, 1, 2, 3, 4, 5, 6],
            &[0x10, 0x20, 1, 2, 3],
            &[0x10, 0x00, 0, 0, 0x0F, 0xFF, 1, 2],
            &[0x20],
            &[0x33, 0, 0],
            &[0x30, 0],
            &[0x40, 0, 0],
        ] {
            assert!(Pci::read(wrong, 0).is_err(), "{wrong:02X?}");
        }
        let long = [0x10, 0x00, 0, 0, 0x10, 0, 1, 2];
        assert_eq!(Pci::read(&long, 0), Ok(Pci::First { length: 4096, data: &[1, 2] }));
        let mut flexible = [0; 12];
        flexible[1] = 10;
        assert_eq!(Pci::read(&flexible, 0), Ok(Pci::Single { data: &[0; 10], padding: &[] }));
        flexible[0] = 5;
        assert_eq!(Pci::read(&flexible, 0), Err(PciError::SingleLength));
    }
}
