//! The pieces that entries are written with: numbers, texts, bytes.

#![allow(clippy::option_option, reason = "the outer one says whether it could be read, the inner one is what was read")]

/// Writes pieces one after the other.
#[derive(Debug, Default)]
pub(super) struct Encoder(pub(super) Vec<u8>);

impl Encoder {
    /// A number, seven bits a byte, the lowest first; every byte but the last has its highest bit set.
    pub(super) fn number(&mut self, mut number: u64) {
        while let Ok(low) = u8::try_from(number & 0x7F) {
            number >>= 7;
            if number == 0 {
                self.0.push(low);
                return;
            }
            self.0.push(low | 0x80);
        }
    }

    pub(super) fn length(&mut self, length: usize) {
        self.number(length as u64);
    }

    /// A number that may be negative: 0, -1, 1, -2 … are 0, 1, 2, 3 …
    pub(super) fn signed(&mut self, number: i64) {
        self.number(((number << 1) ^ (number >> 63)).cast_unsigned());
    }

    pub(super) fn fixed(&mut self, bytes: &[u8]) {
        self.0.extend_from_slice(bytes);
    }

    pub(super) fn bytes(&mut self, bytes: &[u8]) {
        self.length(bytes.len());
        self.fixed(bytes);
    }

    pub(super) fn text(&mut self, text: &str) {
        self.bytes(text.as_bytes());
    }

    /// Whether it is there, and what it is.
    pub(super) fn maybe<T>(&mut self, value: Option<T>, write: impl FnOnce(&mut Self, T)) {
        self.0.push(u8::from(value.is_some()));
        if let Some(value) = value {
            write(self, value);
        }
    }
}

/// Reads pieces one after the other. Everything is an option: what is cut short or overlong gives nothing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Decoder<'b>(pub(super) &'b [u8]);

impl<'b> Decoder<'b> {
    pub(super) fn byte(&mut self) -> Option<u8> {
        let (first, rest) = self.0.split_first()?;
        self.0 = rest;
        Some(*first)
    }

    pub(super) fn number(&mut self) -> Option<u64> {
        let mut number = 0_u64;
        for shift in (0..64).step_by(7) {
            let byte = self.byte()?;
            let low = u64::from(byte & 0x7F);
            // The tenth byte has room for one bit.
            if shift == 63 && low > 1 {
                return None;
            }
            number |= low << shift;
            if byte & 0x80 == 0 {
                return Some(number);
            }
        }
        None
    }

    /// A count of things of which each takes a byte at least, so that no more is made room for than is there.
    pub(super) fn length(&mut self) -> Option<usize> {
        usize::try_from(self.number()?).ok().filter(|length| *length <= self.0.len())
    }

    pub(super) fn signed(&mut self) -> Option<i64> {
        let number = self.number()?;
        Some((number >> 1).cast_signed() ^ -(number & 1).cast_signed())
    }

    pub(super) fn fixed<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (first, rest) = self.0.split_first_chunk()?;
        self.0 = rest;
        Some(*first)
    }

    pub(super) fn bytes(&mut self) -> Option<&'b [u8]> {
        let length = self.length()?;
        let (first, rest) = self.0.split_at_checked(length)?;
        self.0 = rest;
        Some(first)
    }

    pub(super) fn text(&mut self) -> Option<&'b str> {
        std::str::from_utf8(self.bytes()?).ok()
    }

    /// What [`Encoder::maybe`] wrote.
    pub(super) fn maybe<T>(&mut self, read: impl FnOnce(&mut Self) -> Option<T>) -> Option<Option<T>> {
        match self.byte()? {
            0 => Some(None),
            1 => read(self).map(Some),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn what_was_written_is_read(number: u64, signed: i64, text: String, bytes: Vec<u8>, some: Option<u64>) {
            let mut out = Encoder::default();
            out.number(number);
            out.signed(signed);
            out.text(&text);
            out.bytes(&bytes);
            out.maybe(some, Encoder::number);
            let mut read = Decoder(&out.0);
            prop_assert_eq!(read.number(), Some(number));
            prop_assert_eq!(read.signed(), Some(signed));
            prop_assert_eq!(read.text(), Some(text.as_str()));
            prop_assert_eq!(read.bytes(), Some(bytes.as_slice()));
            prop_assert_eq!(read.maybe(Decoder::number), Some(some));
            prop_assert_eq!(read.0, &[] as &[u8]);
        }

        #[test]
        fn anything_at_all_is_read_without_harm(bytes: Vec<u8>) {
            let mut read = Decoder(&bytes);
            while read.number().is_some() && read.maybe(Decoder::text).is_some() && read.signed().is_some() {}
        }
    }

    #[test]
    fn numbers_are_written_in_seven_bits() {
        // The examples of the Protocol Buffers encoding page (developers.google.com, "Base 128 Varints", "Signed
        // Integers"), whose form this is; from memory.
        let written = |write: &dyn Fn(&mut Encoder)| {
            let mut out = Encoder::default();
            write(&mut out);
            out.0
        };
        assert_eq!(written(&|out| out.number(150)), [0x96, 0x01]);
        assert_eq!(written(&|out| out.signed(-1)), [1]);
        assert_eq!(written(&|out| out.signed(-2_147_483_648)), written(&|out| out.number(4_294_967_295)));
        // Eleven bytes, and a tenth byte that overflows.
        assert_eq!(Decoder(&[0x80; 11]).number(), None);
        assert_eq!(Decoder(&[0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 2]).number(), None);
    }
}
