//! Whether an identifier's frames could be transport, as far as they have come.

use super::echo;
use crate::transport::is_filler;
use crate::transport::{Addressing, Pci};

/// What speaks for and against one addressing of one identifier.
#[derive(Debug, Clone)]
pub(super) struct AddressingScore {
    pub addressing: Addressing,
    good: u32,
    bad: u32,
    /// The message that is on its way.
    way: MessageOnTheWay,
    /// Messages that ask, messages that answer. Nobody does both on one identifier.
    sides: [u32; 2],
    pub out_of_the_question: bool,
}

/// A message that is on its way, as far as it is known.
#[derive(Debug, Clone, Copy)]
enum MessageOnTheWay {
    /// The log may have begun inside one.
    Unknown,
    /// None.
    Nothing,
    /// One that this address began: the number that comes next, and the bytes that are missing (`None` where its beginning is
    /// not known).
    Within { address: u8, next: u8, missing: Option<usize> },
}

/// Frames against it that are borne in any case: a log may begin in the middle, or lose some.
const BORNE: u32 = 3;

impl AddressingScore {
    pub const fn new(addressing: Addressing) -> Self {
        Self { addressing, good: 0, bad: 0, way: MessageOnTheWay::Unknown, sides: [0; 2], out_of_the_question: false }
    }

    /// Takes a frame's bytes; what it says, if it could be transport.
    pub fn look<'a>(&mut self, bytes: &'a [u8]) -> Option<Pci<'a>> {
        let offset = self.addressing.offset();
        let address = if offset == 0 { 0 } else { bytes.first().copied().unwrap_or(0) };
        let pci = Pci::read(bytes.get(offset..).unwrap_or_default(), offset).ok();
        let pci = pci.filter(|pci| self.fits(*pci, address));
        if pci.is_some() {
            self.good = self.good.saturating_add(1);
        } else {
            self.bad = self.bad.saturating_add(1);
            self.way = MessageOnTheWay::Unknown;
            if self.bad > BORNE && self.bad.saturating_mul(4) > self.good {
                self.out_of_the_question = true;
            }
        }
        pci
    }

    /// Whether a message can begin so, on an identifier that sent what it sent before.
    fn begins(&mut self, data: &[u8]) -> bool {
        let Some(first) = data.first().filter(|first| echo::is_known(**first)) else { return false };
        let side = usize::from(echo::is_response(*first));
        self.sides[side] = self.sides[side].saturating_add(1);
        self.sides[1 - side] == 0
    }

    /// Another message begins; whether one was on its way.
    fn begin(&mut self, now: u8, way: MessageOnTheWay) -> bool {
        let before = std::mem::replace(&mut self.way, way);
        matches!(before, MessageOnTheWay::Within { address, missing: Some(_), .. } if address == now)
    }

    fn fits(&mut self, pci: Pci<'_>, address: u8) -> bool {
        match pci {
            Pci::Single { data, .. } => {
                let interrupts = self.begin(address, MessageOnTheWay::Nothing);
                self.begins(data) && !interrupts
            }
            Pci::First { length, data } => {
                let missing = Some((length as usize).saturating_sub(data.len()));
                let interrupts = self.begin(address, MessageOnTheWay::Within { address, next: 1, missing });
                self.begins(data) && !interrupts
            }
            Pci::Consecutive { number, data } => {
                let following = (number + 1) & 0x0F;
                let (fits, way) = match self.way {
                    MessageOnTheWay::Nothing => (false, MessageOnTheWay::Nothing),
                    MessageOnTheWay::Within { address: whose, next, missing } if whose == address => {
                        match missing.map(|missing| missing.saturating_sub(data.len())) {
                            Some(0) => (number == next, MessageOnTheWay::Nothing),
                            missing => (number == next, MessageOnTheWay::Within { address, next: following, missing }),
                        }
                    }
                    _ => (true, MessageOnTheWay::Within { address, next: following, missing: None }),
                };
                self.way = way;
                fits
            }
            Pci::Flow { gap, padding, .. } => matches!(gap, 0..=0x7F | 0xF1..=0xF9) && is_filler(padding),
        }
    }
}
