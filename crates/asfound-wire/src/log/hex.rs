//! Hexadecimal digits, read by table.

/// No digit.
const NONE: u8 = 0xFF;

static DIGITS: [u8; 256] = {
    let mut table = [NONE; 256];
    let mut digit = 0;
    while digit < 16 {
        let upper = b"0123456789ABCDEF"[digit as usize];
        table[upper as usize] = digit;
        table[upper.to_ascii_lowercase() as usize] = digit;
        digit += 1;
    }
    table
};

/// The worth of one digit.
#[inline]
pub fn digit(character: u8) -> Option<u8> {
    let worth = DIGITS[usize::from(character)];
    (worth != NONE).then_some(worth)
}

/// One byte of two digits.
#[inline]
pub fn byte(high: u8, low: u8) -> Option<u8> {
    let (high, low) = (DIGITS[usize::from(high)], DIGITS[usize::from(low)]);
    // Only a missing digit has bits above the fourth.
    if (high | low) & 0xF0 == 0 { Some(high << 4 | low) } else { None }
}

/// Three digits, and whether they are none.
#[inline(always)]
#[allow(clippy::inline_always, reason = "a call would cost more than what it does")]
pub fn three(high: u8, middle: u8, low: u8) -> (u32, bool) {
    let digit = |character: u8| DIGITS[usize::from(character)];
    let (high, middle, low) = (digit(high), digit(middle), digit(low));
    let number = u32::from(high) << 8 | u32::from(middle) << 4 | u32::from(low);
    (number, (high | middle | low) & 0xF0 != 0)
}

/// Fills `bytes` from twice as many digits; says whether all were digits.
#[inline]
pub fn fill(bytes: &mut [u8], digits: &[u8]) -> bool {
    let mut wrong = 0;
    for (byte, pair) in bytes.iter_mut().zip(digits.as_chunks::<2>().0) {
        let (high, low) = (DIGITS[usize::from(pair[0])], DIGITS[usize::from(pair[1])]);
        wrong |= high | low;
        *byte = high << 4 | low & 0x0F;
    }
    wrong & 0xF0 == 0
}

/// Whether all are digits.
#[inline]
pub fn are_digits(digits: &[u8]) -> bool {
    digits.iter().fold(0, |wrong, character| wrong | DIGITS[usize::from(*character)]) & 0xF0 == 0
}

/// Up to eight digits as a number.
#[inline]
pub fn number(digits: &[u8]) -> Option<u32> {
    if digits.is_empty() || digits.len() > 8 {
        return None;
    }
    let (mut number, mut wrong) = (0u32, 0);
    for character in digits {
        let worth = DIGITS[usize::from(*character)];
        wrong |= worth;
        number = number << 4 | u32::from(worth & 0x0F);
    }
    (wrong & 0xF0 == 0).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_is_read_as_the_standard_library_reads_it() {
        for high in 0..=255u8 {
            for low in 0..=255u8 {
                let text = [high, low];
                let expected = std::str::from_utf8(&text)
                    .ok()
                    .filter(|text| text.bytes().all(|b| b.is_ascii_hexdigit()))
                    .and_then(|text| u8::from_str_radix(text, 16).ok());
                assert_eq!(byte(high, low), expected, "{text:?}");
                assert_eq!(number(&text), expected.map(u32::from), "{text:?}");
                assert_eq!(are_digits(&text), expected.is_some(), "{text:?}");
                let mut filled = [0];
                assert_eq!(fill(&mut filled, &text), expected.is_some(), "{text:?}");
                if let Some(expected) = expected {
                    assert_eq!(filled[0], expected);
                }
            }
        }
    }
}
