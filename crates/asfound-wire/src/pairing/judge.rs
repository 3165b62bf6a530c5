//! Whether an identifier's frames could be transport, as far as they have come.

use super::echo;
use crate::transport::is_filler;
use crate::transport::{Addressing, Pci};

/// What speaks for and against one addressing of one identifier.
#[derive(Debug, Clone)]
pub(super) struct Judge {
    pub addressing: Addressing,
    good: u32,
    bad: u32,
    /// The address and number of the last consecutive frame.
    count: Option<(u8, u8)>,
    pub out_of_the_question: bool,
}

/// Frames against it that are borne in any case: a log may begin in the middle, or lose some.
const BORNE: u32 = 3;

impl Judge {
    pub const fn new(addressing: Addressing) -> Self {
        Self { addressing, good: 0, bad: 0, count: None, out_of_the_question: false }
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
            self.count = None;
            if self.bad > BORNE && self.bad.saturating_mul(4) > self.good {
                self.out_of_the_question = true;
            }
        }
        pci
    }

    fn fits(&mut self, pci: Pci<'_>, address: u8) -> bool {
        match pci {
            Pci::Single { data, .. } => {
                // Tester-present goes in between the frames of a longer message only on another identifier.
                self.count = None;
                data.first().is_some_and(|first| echo::is_known(*first))
            }
            Pci::First { data, .. } => {
                self.count = Some((address, 0));
                data.first().is_some_and(|first| echo::is_known(*first))
            }
            Pci::Consecutive { number, .. } => {
                let before = self.count.replace((address, number));
                before.is_none_or(|(whose, last)| whose != address || number == (last + 1) & 0x0F)
            }
            Pci::Flow { gap, padding, .. } => matches!(gap, 0..=0x7F | 0xF1..=0xF9) && is_filler(padding),
        }
    }
}
