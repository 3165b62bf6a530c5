//! The usual form of a line, read without looking at its characters one by one.
//!
//! `(1700000000.123456) can0 7E0#0210030000000000`: time with ten and six digits, a bus that is known, an
//! identifier of three or eight digits, data. Whatever deviates is left to the reader of all forms.

use super::digits::{eight_bytes, eight_decimals, halves, not_decimals, word};
use super::hex;
use super::skip_ids::SkipIds;
use crate::frame::{CanFrame, CanId, Direction, FrameKind, Interface, Interfaces, Timestamp};

/// The end of a time, `123456) `, with zeros in place of what follows the six digits and in front of them.
#[inline]
const fn six_of_eight(end: u64) -> u64 {
    end << 16 | 0x3030
}

/// Bracket and space after a time.
const AFTER_TIME: u64 = u16::from_le_bytes(*b") ") as u64;

/// The beginning of a line after its time: the name of a bus and a space.
#[derive(Debug)]
struct LinePrefix {
    interface: Interface,
    /// Its first eight bytes, or fewer.
    text: u64,
    mask: u64,
    length: usize,
}

impl LinePrefix {
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
pub(super) enum FastLine {
    /// A frame.
    Frame,
    /// A frame of an identifier that is passed over; nothing but its moment was read, see [`FastLineReader::moment`].
    Ordinary,
}

/// Reads lines of the usual form, and remembers what the line before had.
#[derive(Debug)]
pub(super) struct FastLineReader {
    /// Bracket, seconds and point of the line before.
    seconds: [u8; 12],
    /// What they say.
    nanoseconds: u64,
    /// The time of the last line that was read or skimmed: its second in nanoseconds, and the end as it stands there.
    last: (u64, u64),
    /// One for each bus, in the order of their numbers.
    leads: Vec<LinePrefix>,
    /// Which of them the line before had.
    latest: usize,
}

impl Default for FastLineReader {
    fn default() -> Self {
        // No line has line ends inside.
        Self { seconds: [b'\n'; 12], nanoseconds: 0, last: (0, 0), leads: Vec::new(), latest: 0 }
    }
}

impl FastLineReader {
    /// Reads a line of the usual form; `None` where it is not, and `frame` is then unfinished.
    #[inline]
    pub fn read(
        &mut self,
        line: &[u8],
        interfaces: &Interfaces,
        ordinary: &SkipIds,
        frame: &mut CanFrame,
    ) -> Option<FastLine> {
        let (seconds, rest) = line.split_first_chunk::<12>()?;
        if *seconds != self.seconds {
            self.second(seconds)?;
        }
        let (end, rest) = rest.split_first_chunk::<8>()?;
        let end = u64::from_le_bytes(*end);
        if end >> 48 != AFTER_TIME || not_decimals(six_of_eight(end)) != 0 {
            return None;
        }
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
        if not_id || not_data {
            return None;
        }
        self.last = (self.nanoseconds, end);
        if ordinary.contains(interface, id) {
            return Some(FastLine::Ordinary);
        }
        frame.moment = Some(self.moment());
        frame.interface = interface;
        frame.id = id;
        frame.kind = FrameKind::Classic;
        frame.direction = direction;
        frame.length = u8::try_from(digits.len() / 2).ok()?;
        match sixteen {
            Ok(digits) => frame.bytes[..8].copy_from_slice(&eight_bytes(halves(digits).0)),
            Err(_) => hex::fill(&mut frame.bytes[..digits.len() / 2], digits).then_some(())?,
        }
        Some(FastLine::Frame)
    }

    /// Whether a line is as the line before was, with another time in the same second and other data: sixteen digits, on the same bus, of an
    /// identifier of 11 bits that is passed over. What is not so may be of the usual form all the same.
    #[inline(always)]
    #[allow(clippy::inline_always, reason = "nearly every line comes here, and a call would cost a fifth of it")]
    pub fn skim(&mut self, line: &[u8], ordinary: &SkipIds) -> bool {
        let (Some(lead), Some((head, _))) = (self.leads.get(self.latest), line.split_first_chunk::<28>()) else {
            return false;
        };
        let Some(Ok(rest)) = line.get(20 + lead.length..).map(<&[u8; 20]>::try_from) else { return false };
        let [a, b, c, b'#', digits @ ..] = rest else { return false };
        let (Some(end), Some(name)) = (word(head, 12), word(head, 20)) else { return false };
        let (number, not_id) = hex::three(*a, *b, *c);
        if head[..12] != self.seconds || not_id || !ordinary.contains(lead.interface, CanId::of_11_bits(number)) {
            return false;
        }
        let wrong = (end >> 48 ^ AFTER_TIME) | not_decimals(six_of_eight(end)) | (name & lead.mask ^ lead.text);
        let fits = wrong == 0 && halves(digits).1 == 0 && lead.length <= 8 && number <= 0x7FF;
        if fits {
            self.last = (self.nanoseconds, end);
        }
        fits
    }

    /// When the last line was logged that was read or skimmed.
    #[inline]
    pub fn moment(&self) -> Timestamp {
        let (second, end) = self.last;
        Timestamp::from_nanoseconds(second + eight_decimals(six_of_eight(end)) * 1000)
    }

    /// Another second begins.
    #[inline(never)]
    fn second(&mut self, text: &[u8; 12]) -> Option<()> {
        let [b'(', tens, ones, eight @ .., b'.'] = text else { return None };
        let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
        if tens > 9 || ones > 9 {
            return None;
        }
        let eight = word(eight, 0)?;
        if not_decimals(eight) != 0 {
            return None;
        }
        let seconds = eight_decimals(eight) + u64::from(tens * 10 + ones) * 100_000_000;
        self.nanoseconds = seconds * 1_000_000_000;
        self.seconds = *text;
        Some(())
    }

    /// The bus that a line tells, where it is one that is known, and how many bytes that takes.
    #[inline(never)]
    fn find(&mut self, rest: &[u8], name: u64, interfaces: &Interfaces) -> Option<(Interface, usize)> {
        for interface in interfaces.since(self.leads.len()) {
            self.leads.push(LinePrefix::new(interface, interfaces.bytes(interface)));
        }
        let fits = |lead: &LinePrefix| {
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

    proptest! {
        /// Whatever the short way reads, the long way reads equally.
        #[test]
        fn both_ways_read_the_same(
            line in r"\([0-9]{10}\.[0-9]{6}\) (can[01]|can2-behind-gateway) ([0-9A-Fa-f]{3}|[0-9A-F]{8})#([0-9A-Fa-f]{2}){0,9}( [RTX])?",
            other in r"[ -~]", place in 0usize..64,
        ) {
            for line in [line.clone(), { let mut l = line; if place < l.len() { l.replace_range(place..=place, &other); } l }] {
                let (mut interfaces, mut usual) = (Interfaces::default(), FastLineReader::default());
                interfaces.number(b"can0");
                interfaces.number(b"can2-behind-gateway");
                let (mut short, mut long) = (CanFrame::empty(), CanFrame::empty());
                let read_shortly = usual.read(line.as_bytes(), &interfaces, &SkipIds::default(), &mut short);
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
