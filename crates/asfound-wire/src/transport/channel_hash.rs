//! Hashing of channels, which every frame of a conversation needs.

use std::hash::{BuildHasherDefault, Hasher};

/// Builds [`ChannelHasher`]s.
pub(crate) type BuildChannelHasher = BuildHasherDefault<ChannelHasher>;

/// Multiplies and turns, where the standard hasher guards against keys that somebody chose. The tables that it is for have a few
/// thousand keys at most, so that the worst that a made-up log can do is to be slow.
#[derive(Debug, Default, Clone, Copy)]
pub(crate) struct ChannelHasher(u64);

impl ChannelHasher {
    fn mix(&mut self, number: u64) {
        self.0 = (self.0.rotate_left(5) ^ number).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    }
}

impl Hasher for ChannelHasher {
    fn write(&mut self, bytes: &[u8]) {
        bytes.iter().for_each(|byte| self.mix(u64::from(*byte)));
    }

    fn write_u8(&mut self, number: u8) {
        self.mix(u64::from(number));
    }

    fn write_u16(&mut self, number: u16) {
        self.mix(u64::from(number));
    }

    fn write_u32(&mut self, number: u32) {
        self.mix(u64::from(number));
    }

    fn write_u64(&mut self, number: u64) {
        self.mix(number);
    }

    fn write_usize(&mut self, number: usize) {
        self.mix(number as u64);
    }

    fn write_isize(&mut self, number: isize) {
        self.mix(number.cast_unsigned() as u64);
    }

    fn finish(&self) -> u64 {
        // The table takes the lowest bits first, and the product's are the poorest.
        self.0 ^ (self.0 >> 32)
    }
}
