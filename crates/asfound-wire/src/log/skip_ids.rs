//! Identifiers of ordinary traffic, whose frames are only counted.

use std::sync::atomic::{AtomicU64, Ordering};

use crate::frame::{CanId, Interface};

const SLOTS: usize = 1 << 12;
/// No identifier has so many bits.
const NOBODY: u64 = u64::MAX;

/// Identifiers of which it is settled that they carry no diagnostics: whoever reads a log need not give their frames out one by one.
///
/// One thread may fill it while another reads a log. Whether a frame is only counted or given out makes no difference to what
/// a [`Listener`](crate::listening::Listener) says in the end, so that it does not matter when the other thread learns of it. A table
/// of fixed size; where two identifiers fall on one place, the later one stands there.
#[derive(Debug)]
pub struct SkipIds(Box<[AtomicU64]>);

impl Default for SkipIds {
    fn default() -> Self {
        Self((0..SLOTS).map(|_| AtomicU64::new(NOBODY)).collect())
    }
}

impl SkipIds {
    /// A table that stays empty, and takes no room.
    pub(super) fn none() -> Self {
        Self(Box::default())
    }

    #[inline]
    fn place(interface: Interface, id: CanId) -> (usize, u64) {
        let key = u64::from(interface.0) << 32 | u64::from(id.packed());
        let mixed = (id.packed() ^ u32::from(interface.0) << 11).wrapping_mul(0x9E37_79B1) >> 20;
        (mixed as usize, key)
    }

    /// Frames of this identifier need no longer be given out.
    pub fn add(&self, interface: Interface, id: CanId) {
        let (place, key) = Self::place(interface, id);
        if let Some(slot) = self.0.get(place) {
            slot.store(key, Ordering::Relaxed);
        }
    }

    /// Whether its frames need not be given out. May say no to some that were added.
    #[inline]
    pub fn contains(&self, interface: Interface, id: CanId) -> bool {
        let (place, key) = Self::place(interface, id);
        self.0.get(place).is_some_and(|slot| slot.load(Ordering::Relaxed) == key)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_added_is_there_and_nothing_else() {
        let ordinary = SkipIds::default();
        let added: Vec<(Interface, CanId)> = (0..40u32)
            .map(|number| (Interface(u16::try_from(number % 3).unwrap()), CanId::of_11_bits(0x100 + number * 9)))
            .collect();
        added.iter().for_each(|(interface, id)| ordinary.add(*interface, *id));
        let mut there = 0;
        for interface in (0..4).map(Interface) {
            for number in 0..0x800 {
                for id in [CanId::of_11_bits(number), CanId::of_29_bits(number)] {
                    let contains = ordinary.contains(interface, id);
                    assert!(!contains || added.contains(&(interface, id)));
                    there += usize::from(contains);
                }
            }
        }
        assert!(there > 35, "{there} of 40");
    }
}
