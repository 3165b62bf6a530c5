//! Digits, many at once: eight or sixteen in a word.

/// The same byte in each place of a word.
const fn each(byte: u8) -> u64 {
    u64::from_le_bytes([byte; 8])
}

#[inline]
pub(super) fn word(text: &[u8], at: usize) -> Option<u64> {
    text.get(at..at + 8)?.first_chunk::<8>().map(|bytes| u64::from_le_bytes(*bytes))
}

/// Something else than zero where eight characters are no decimal digits: a digit has a high half of 3, also when 6 is added.
#[inline]
pub(super) const fn not_decimals(word: u64) -> u64 {
    ((word & each(0xF0)) | ((word.wrapping_add(each(6)) & each(0xF0)) >> 4)) ^ each(0x33)
}

/// What eight decimal digits say.
#[inline]
pub(super) const fn eight_decimals(word: u64) -> u64 {
    let digits = word.wrapping_sub(each(b'0'));
    // Pairs, then fours, then all eight; the first character is in the lowest byte.
    let pairs = (digits.wrapping_mul(10).wrapping_add(digits >> 8)) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100).wrapping_add(pairs >> 16)) & 0x0000_FFFF_0000_FFFF;
    fours.wrapping_mul(10_000).wrapping_add(fours >> 32) & 0xFFFF_FFFF
}

/// What sixteen hexadecimal digits are worth, and something else than zero where they are none. Written so that a compiler makes
/// a handful of vector instructions of it.
#[inline(always)]
#[allow(clippy::inline_always, reason = "a call for each line would cost as much as what it does")]
pub(super) fn halves(text: &[u8; 16]) -> ([u8; 16], u128) {
    let (mut halves, mut wrong) = ([0u8; 16], [0u8; 16]);
    for ((half, wrong), character) in halves.iter_mut().zip(&mut wrong).zip(text) {
        let digit = character.wrapping_sub(b'0');
        let letter = (character | 0x20).wrapping_sub(b'a');
        *wrong = digit.saturating_sub(9).min(letter.saturating_sub(5));
        *half = digit.min(letter.wrapping_add(10));
    }
    (halves, u128::from_le_bytes(wrong))
}

/// Two digits in each byte.
#[inline]
pub(super) fn eight_bytes(halves: [u8; 16]) -> [u8; 8] {
    // Written at once, since they may be read at once right after.
    let mut bytes = [0; 8];
    for (byte, [high, low]) in bytes.iter_mut().zip(halves.as_chunks::<2>().0) {
        *byte = high << 4 | low;
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_read_as_the_standard_library_reads_them() {
        for byte in 0..=255u8 {
            for place in 0..16 {
                let mut text = *b"01234567890abcDE";
                text[place] = byte;
                let (eight, sixteen) = (text.first_chunk::<8>().unwrap(), &text);
                let as_text = |text| std::str::from_utf8(text).ok().filter(|text| !text.starts_with('+'));
                let decimal = as_text(eight).and_then(|text| text.parse::<u64>().ok());
                let word = u64::from_le_bytes(*eight);
                let number = (not_decimals(word) == 0).then_some(eight_decimals(word));
                assert_eq!(number, decimal, "{text:?}");
                let hexadecimal = as_text(sixteen).and_then(|text| u64::from_str_radix(text, 16).ok());
                let (halves, wrong) = halves(sixteen);
                let number = u64::from_be_bytes(eight_bytes(halves));
                assert_eq!((wrong == 0).then_some(number), hexadecimal, "{text:?}");
            }
        }
    }
}
