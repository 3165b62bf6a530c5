//! A table of identifiers that is quick for those that come again and again.

use std::collections::HashMap;

use crate::frame::{CanId, Interface};

/// A bus has some hundred identifiers; a log with more than this is none of a bus.
pub(super) const MOST_IDS: usize = 1 << 16;
const SLOTS: usize = 1 << 12;

type Key = (u16, u32);

/// Numbers identifiers from 0.
#[derive(Debug)]
pub(super) struct IdTable {
    /// The identifier last seen in a slot, with its number.
    recent: Vec<(Key, u32)>,
    known: HashMap<Key, u32>,
}

/// No identifier: 30 bits are set at most.
const NOBODY: Key = (u16::MAX, u32::MAX);

impl IdTable {
    pub fn new() -> Self {
        Self { recent: vec![(NOBODY, 0); SLOTS], known: HashMap::new() }
    }

    /// The number of an identifier, and whether it is new; `None` when the table is full.
    #[inline]
    pub fn number(&mut self, interface: Interface, id: CanId) -> Option<(usize, bool)> {
        let key = (interface.0, id.packed());
        let mixed = (id.packed() ^ u32::from(interface.0) << 11).wrapping_mul(0x9E37_79B1) >> 20;
        let slot = mixed as usize % SLOTS;
        let (there, number) = self.recent[slot];
        if there == key { Some((number as usize, false)) } else { self.find(key, slot) }
    }

    #[inline(never)]
    fn find(&mut self, key: Key, slot: usize) -> Option<(usize, bool)> {
        let next = self.known.len();
        let (number, new) = match self.known.get(&key) {
            Some(number) => (*number, false),
            None if next >= MOST_IDS => return None,
            None => {
                let number = u32::try_from(next).ok()?;
                self.known.insert(key, number);
                (number, true)
            }
        };
        self.recent[slot] = (key, number);
        Some((number as usize, new))
    }
}
