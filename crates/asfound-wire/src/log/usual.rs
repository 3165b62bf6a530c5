//! The usual form of a line, read without looking at its characters one by one.
//!
//! `(1700000000.123456) can0 7E0#0210030000000000`: time with ten and six digits, a bus that is known, an
//! identifier of three or eight digits, data. Whatever deviates is left to the reader of all forms.

use super::hex;
use super::ordinary::OrdinaryIds;
use crate::frame::{CanFrame, CanId, Direction, FrameKind, Interface, Interfaces, Moment};

/// The same byte in each place of a word.
const fn each(byte: u8) -> u64 {
    u64::from_le_bytes([byte; 8])
}

#[inline]
fn word(text: &[u8], at: usize) -> Option<u64> {
    text.get(at..at + 8)?.first_chunk::<8>().map(|bytes| u64::from_le_bytes(*bytes))
}

/// Eight decimal digits, and something else than zero where they are none.
#[inline]
const fn eight_decimals(word: u64) -> (u64, u64) {
    // A digit has a high half of 3, also when 6 is added.
    let wrong = ((word & each(0xF0)) | ((word.wrapping_add(each(6)) & each(0xF0)) >> 4)) ^ each(0x33);
    let digits = word.wrapping_sub(each(b'0'));
    // Pairs, then fours, then all eight; the first character is in the lowest byte.
    let pairs = (digits.wrapping_mul(10).wrapping_add(digits >> 8)) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100).wrapping_add(pairs >> 16)) & 0x0000_FFFF_0000_FFFF;
    (fours.wrapping_mul(10_000).wrapping_add(fours >> 32) & 0xFFFF_FFFF, wrong)
}

/// What sixteen hexadecimal digits are worth, and something else than zero where they are none. Written so that a compiler makes
/// a handful of vector instructions of it.
#[inline(always)]
#[allow(clippy::inline_always, reason = "a call for each line would cost as much as what it does")]
fn halves(text: &[u8; 16]) -> ([u8; 16], u128) {
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
fn eight_bytes(halves: [u8; 16]) -> [u8; 8] {
    // Written at once, since they may be read at once right after.
    let mut bytes = [0; 8];
    for (byte, [high, low]) in bytes.iter_mut().zip(halves.as_chunks::<2>().0) {
        *byte = high << 4 | low;
    }
    bytes
}

/// The beginning of a line after its time: the name of a bus and a space.
#[derive(Debug)]
struct Lead {
    interface: Interface,
    /// Its first eight bytes, or fewer.
    text: u64,
    mask: u64,
    length: usize,
}

impl Lead {
    fn new(interface: Interface, name: &[u8]) -> Self {
        let (mut text, mut mask) = ([0; 8], [0; 8]);
        for ((text, mask), byte) in text.iter_mut().zip(&mut mask).zip(name.iter().chain(b" ")) {
            (*text, *mask) = (*byte, 0xFF);
        }
        let (text, mask) = (u64::from_le_bytes(text), u64::from_le_bytes(mask));
        Self { interface, text, mask, length: name.len() + 1 }
    }
}

/// What a line of the usual form has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum UsualLine {
    /// A frame.
    Frame,
    /// A frame of an identifier that is passed over; nothing but its moment was read.
    Ordinary,
}

/// Reads lines of the usual form, and remembers what the line before had.
#[derive(Debug)]
pub(super) struct Usual {
    /// Bracket, seconds and point of the line before.
    seconds: [u8; 12],
    /// What they say.
    nanoseconds: u64,
    /// One for each bus, in the order of their numbers.
    leads: Vec<Lead>,
    /// Which of them the line before had.
    latest: usize,
}

impl Default for Usual {
    fn default() -> Self {
        // No line has line ends inside.
        Self { seconds: [b'\n'; 12], nanoseconds: 0, leads: Vec::new(), latest: 0 }
    }
}

impl Usual {
    /// Reads a line of the usual form; `None` where it is not, and `frame` is then unfinished.
    #[inline]
    pub fn read(
        &mut self,
        line: &[u8],
        interfaces: &Interfaces,
        ordinary: &OrdinaryIds,
        frame: &mut CanFrame,
    ) -> Option<UsualLine> {
        let (seconds, rest) = line.split_first_chunk::<12>()?;
        if *seconds != self.seconds {
            self.second(seconds)?;
        }
        let (end, rest) = rest.split_first_chunk::<8>()?;
        let end = u64::from_le_bytes(*end);
        if end >> 48 != u64::from(u16::from_le_bytes(*b") ")) {
            return None;
        }
        // In front of the six characters count zeros.
        let (micros, not_micros) = eight_decimals(end << 16 | 0x3030);
        let name = word(rest, 0)?;
        let (interface, length) = match self.leads.get(self.latest) {
            Some(lead) if name & lead.mask == lead.text && lead.length <= 8 => (lead.interface, lead.length),
            _ => self.find(rest, name, interfaces)?,
        };
        let rest = rest.get(length..)?;
        let (rest, direction) = match rest {
            [rest @ .., b' ', b'R'] => (rest, Some(Direction::Received)),
            [rest @ .., b' ', b'T'] => (rest, Some(Direction::Sent)),
            _ => (rest, None),
        };
        let (id, digits, not_id) = match rest {
            [a, b, c, b'#', digits @ ..] => {
                let (number, wrong) = hex::three(*a, *b, *c);
                (CanId::of_11_bits(number), digits, wrong || number > 0x7FF)
            }
            [_, _, _, _, _, _, _, _, b'#', digits @ ..] => {
                let number = hex::number(&rest[..8])?;
                (CanId::of_29_bits(number), digits, number > 0x1FFF_FFFF)
            }
            _ => return None,
        };
        let sixteen = <&[u8; 16]>::try_from(digits);
        let not_data = match sixteen {
            Ok(digits) => halves(digits).1 != 0,
            Err(_) => digits.len() % 2 != 0 || digits.len() > 16 || !hex::are_digits(digits),
        };
        if not_id || not_data || not_micros != 0 {
            return None;
        }
        frame.moment = Some(Moment::from_nanoseconds(self.nanoseconds + micros * 1000));
        if ordinary.contains(interface, id) {
            return Some(UsualLine::Ordinary);
        }
        frame.interface = interface;
        frame.id = id;
        frame.kind = FrameKind::Classic;
        frame.direction = direction;
        frame.length = u8::try_from(digits.len() / 2).ok()?;
        match sixteen {
            Ok(digits) => frame.bytes[..8].copy_from_slice(&eight_bytes(halves(digits).0)),
            Err(_) => hex::fill(&mut frame.bytes[..digits.len() / 2], digits).then_some(())?,
        }
        Some(UsualLine::Frame)
    }

    /// Another second begins.
    #[inline(never)]
    fn second(&mut self, text: &[u8; 12]) -> Option<()> {
        let [b'(', tens, ones, eight @ .., b'.'] = text else { return None };
        let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
        if tens > 9 || ones > 9 {
            return None;
        }
        let (seconds, wrong) = eight_decimals(word(eight, 0)?);
        if wrong != 0 {
            return None;
        }
        let seconds = seconds + u64::from(tens * 10 + ones) * 100_000_000;
        self.nanoseconds = seconds * 1_000_000_000;
        self.seconds = *text;
        Some(())
    }

    /// The bus that a line tells, where it is one that is known, and how many bytes that takes.
    #[inline(never)]
    fn find(&mut self, rest: &[u8], name: u64, interfaces: &Interfaces) -> Option<(Interface, usize)> {
        for interface in interfaces.since(self.leads.len()) {
            self.leads.push(Lead::new(interface, interfaces.bytes(interface)));
        }
        let fits = |lead: &Lead| {
            let whole = |name: &[u8]| rest.strip_prefix(name).is_some_and(|rest| rest.first() == Some(&b' '));
            name & lead.mask == lead.text && (lead.length <= 8 || whole(interfaces.bytes(lead.interface)))
        };
        if !self.leads.get(self.latest).is_some_and(fits) {
            self.latest = self.leads.iter().position(fits)?;
        }
        self.leads.get(self.latest).map(|lead| (lead.interface, lead.length))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::log::candump::candump_line;

    #[test]
    fn digits_are_read_as_the_standard_library_reads_them() {
        for byte in 0..=255u8 {
            for place in 0..16 {
                let mut text = *b"01234567890abcDE";
                text[place] = byte;
                let (eight, sixteen) = (text.first_chunk::<8>().unwrap(), &text);
                let as_text = |text| std::str::from_utf8(text).ok().filter(|text| !text.starts_with('+'));
                let decimal = as_text(eight).and_then(|text| text.parse::<u64>().ok());
                let (number, wrong) = eight_decimals(u64::from_le_bytes(*eight));
                assert_eq!((wrong == 0).then_some(number), decimal, "{text:?}");
                let hexadecimal = as_text(sixteen).and_then(|text| u64::from_str_radix(text, 16).ok());
                let (halves, wrong) = halves(sixteen);
                let number = u64::from_be_bytes(eight_bytes(halves));
                assert_eq!((wrong == 0).then_some(number), hexadecimal, "{text:?}");
            }
        }
    }

    proptest! {
        /// Whatever the short way reads, the long way reads equally.
        #[test]
        fn both_ways_read_the_same(
            line in r"\([0-9]{10}\.[0-9]{6}\) (can[01]|can2-behind-gateway) ([0-9A-Fa-f]{3}|[0-9A-F]{8})#([0-9A-Fa-f]{2}){0,9}( [RTX])?",
            other in r"[ -~]", place in 0usize..64,
        ) {
            for line in [line.clone(), { let mut l = line; if place < l.len() { l.replace_range(place..=place, &other); } l }] {
                let (mut interfaces, mut usual) = (Interfaces::default(), Usual::default());
                interfaces.number(b"can0");
                interfaces.number(b"can2-behind-gateway");
                let (mut short, mut long) = (CanFrame::empty(), CanFrame::empty());
                let read_shortly = usual.read(line.as_bytes(), &interfaces, &OrdinaryIds::default(), &mut short);
                let read = candump_line(line.as_bytes(), &mut interfaces, &mut long);
                if read_shortly.is_some() {
                    prop_assert_eq!(read, Ok(true), "{}", line);
                    prop_assert_eq!(short.data(), long.data());
                    prop_assert_eq!((short.moment, short.id, short.kind), (long.moment, long.id, long.kind));
                    prop_assert_eq!((short.direction, short.interface), (long.direction, long.interface));
                }
            }
        }
    }
}
