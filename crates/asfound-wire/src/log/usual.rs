//! The usual form of a line, read without looking at its characters one by one.
//!
//! `(1700000000.123456) can0 7E0#0210030000000000`: time with ten and six digits, the same bus as the line before, an
//! identifier of three or eight digits, data. Whatever deviates is left to the reader of all forms.

use crate::frame::{CanFrame, CanId, Direction, FrameKind, Interfaces, Moment};

/// The same byte in each place of a word.
const fn each(byte: u8) -> u64 {
    u64::from_le_bytes([byte; 8])
}

#[inline]
fn word(text: &[u8], at: usize) -> Option<u64> {
    text.get(at..at + 8)?.first_chunk::<8>().map(|bytes| u64::from_le_bytes(*bytes))
}

/// Eight decimal digits.
#[inline]
const fn eight_decimals(word: u64) -> Option<u64> {
    // A digit has a high half of 3, also when 6 is added.
    if (word & each(0xF0)) | ((word.wrapping_add(each(6)) & each(0xF0)) >> 4) != each(0x33) {
        return None;
    }
    let digits = word.wrapping_sub(each(b'0'));
    // Pairs, then fours, then all eight; the first character is in the lowest byte.
    let pairs = (digits.wrapping_mul(10).wrapping_add(digits >> 8)) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100).wrapping_add(pairs >> 16)) & 0x0000_FFFF_0000_FFFF;
    Some(fours.wrapping_mul(10_000).wrapping_add(fours >> 32) & 0xFFFF_FFFF)
}

/// Eight hexadecimal digits as four bytes.
#[inline]
#[allow(clippy::cast_possible_truncation, reason = "the upper half is empty")]
const fn eight_hexadecimals(word: u64) -> Option<[u8; 4]> {
    let letter = (word >> 6) & each(1);
    let low = word & each(0x0F);
    // Digits are 30 to 39; letters 41 to 46 or 61 to 66. No sum below leaves its byte.
    let high = (word & each(0xF0)) & !(letter << 5);
    let wrong_high = high ^ (each(0x30) + (letter << 4));
    let too_large = (low + each(6) + letter * 3) & each(0x10);
    let letter_zero = (letter << 4) & !(low + each(0x0F));
    if wrong_high | too_large | letter_zero != 0 {
        return None;
    }
    let halves = low + letter * 9;
    let bytes = ((halves << 4) | (halves >> 8)) & 0x00FF_00FF_00FF_00FF;
    let bytes = (bytes | (bytes >> 8)) & 0x0000_FFFF_0000_FFFF;
    Some(((bytes | (bytes >> 16)) as u32).to_le_bytes())
}

/// Reads a line of the usual form; `None` where it is not, and `frame` is then unfinished.
#[inline]
pub(super) fn usual(line: &[u8], interfaces: &Interfaces, frame: &mut CanFrame) -> Option<()> {
    let (head, rest) = line.split_first_chunk::<20>()?;
    if head[0] != b'(' || head[11] != b'.' || head[18] != b')' || head[19] != b' ' {
        return None;
    }
    let tens = head[1].wrapping_sub(b'0');
    let ones = head[2].wrapping_sub(b'0');
    if tens > 9 || ones > 9 {
        return None;
    }
    let seconds = eight_decimals(word(head, 3)?)? + u64::from(tens * 10 + ones) * 100_000_000;
    // The eight characters before the bracket end with the six; in front of them count zeros.
    let micros = eight_decimals(word(head, 10)? & !0xFFFF | 0x3030)?;
    let name = interfaces.latest_name();
    let rest = rest.strip_prefix(name)?.strip_prefix(b" ")?;
    let (id, rest) = match rest {
        [a, b, c, b'#', rest @ ..] => {
            let number = u64::from_le_bytes([b'0', b'0', b'0', b'0', b'0', *a, *b, *c]);
            let number = u32::from_be_bytes(eight_hexadecimals(number)?);
            (if number <= 0x7FF { CanId::of_11_bits(number) } else { return None }, rest)
        }
        [_, _, _, _, _, _, _, _, b'#', ..] => {
            let number = u32::from_be_bytes(eight_hexadecimals(word(rest, 0)?)?);
            (if number <= 0x1FFF_FFFF { CanId::of_29_bits(number) } else { return None }, &rest[9..])
        }
        _ => return None,
    };
    let (digits, direction) = match rest {
        [digits @ .., b' ', b'R'] => (digits, Some(Direction::Received)),
        [digits @ .., b' ', b'T'] => (digits, Some(Direction::Sent)),
        _ => (rest, None),
    };
    if digits.len() == 16 {
        let (first, second) = (eight_hexadecimals(word(digits, 0)?)?, eight_hexadecimals(word(digits, 8)?)?);
        frame.bytes[..4].copy_from_slice(&first);
        frame.bytes[4..8].copy_from_slice(&second);
    } else if digits.len() % 2 != 0
        || digits.len() > 16
        || !super::hex::fill(&mut frame.bytes[..digits.len() / 2], digits)
    {
        return None;
    }
    frame.length = u8::try_from(digits.len() / 2).ok()?;
    frame.moment = Some(Moment::from_nanoseconds(seconds * 1_000_000_000 + micros * 1000));
    frame.interface = interfaces.latest();
    frame.id = id;
    frame.kind = FrameKind::Classic;
    frame.direction = direction;
    Some(())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::log::candump::every_form;

    #[test]
    fn digits_are_read_as_the_standard_library_reads_them() {
        for byte in 0..=255u8 {
            for place in 0..8 {
                let mut text = *b"01234567";
                text[place] = byte;
                let as_text =
                    std::str::from_utf8(&text).ok().filter(|text| text.bytes().all(|b| b.is_ascii_alphanumeric()));
                let decimal = as_text.and_then(|text| text.parse::<u64>().ok());
                assert_eq!(eight_decimals(u64::from_le_bytes(text)), decimal, "{text:?}");
                let hexadecimal = as_text.and_then(|text| u32::from_str_radix(text, 16).ok()).map(u32::to_be_bytes);
                assert_eq!(eight_hexadecimals(u64::from_le_bytes(text)), hexadecimal, "{text:?}");
            }
        }
    }

    proptest! {
        /// Whatever the short way reads, the long way reads equally.
        #[test]
        fn both_ways_read_the_same(
            line in r"\([0-9]{10}\.[0-9]{6}\) can[01] ([0-9A-Fa-f]{3}|[0-9A-F]{8})#([0-9A-Fa-f]{2}){0,9}( [RTX])?",
            other in r"[ -~]", place in 0usize..64,
        ) {
            for line in [line.clone(), { let mut l = line; if place < l.len() { l.replace_range(place..=place, &other); } l }] {
                let mut interfaces = Interfaces::default();
                interfaces.number(b"can0");
                let (mut short, mut long) = (CanFrame::empty(), CanFrame::empty());
                let usual = usual(line.as_bytes(), &interfaces, &mut short);
                let read = every_form(line.as_bytes(), &mut interfaces, &mut long);
                if usual.is_some() {
                    prop_assert_eq!(read, Ok(true), "{}", line);
                    prop_assert_eq!(short.data(), long.data());
                    prop_assert_eq!((short.moment, short.id, short.kind), (long.moment, long.id, long.kind));
                    prop_assert_eq!((short.direction, short.interface), (long.direction, long.interface));
                }
            }
        }
    }
}
