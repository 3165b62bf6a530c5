//! The text protocol of serial-line CAN adapters, as the Linux kernel's slcan driver and python-can speak it: no port, no clock.
//!
//! Commands end with a carriage return: `S6` the bit rate, `O` open, `C` close, `t7E080322F190AAAAAAAA` a frame (identifier, length,
//! bytes), `T` one with 29 bits. The adapter answers with a carriage return, or a bell where it refuses; frames that it receives have
//! the same form, perhaps with a time of four digits behind (from memory, held against python-can 4.6 in the tests).

use std::str::FromStr;

use asfound_wire::frame::{CanFrame, CanId, FrameKind};

/// The longest line that an adapter sends: a frame of 29 bits with its time, and some room.
const LONGEST: usize = 64;

/// A bit rate that the protocol has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BitRate(u8);

impl BitRate {
    /// Bits in a second, by the digit of the command.
    const RATES: [u32; 9] = [10_000, 20_000, 50_000, 100_000, 125_000, 250_000, 500_000, 800_000, 1_000_000];
    /// 500 kbit/s.
    pub const USUAL: Self = Self(6);

    /// So many bits in a second; `None` where the protocol has no such rate.
    pub fn of(bits: u32) -> Option<Self> {
        let place = Self::RATES.iter().position(|rate| *rate == bits)?;
        u8::try_from(place).ok().map(Self)
    }
}

impl FromStr for BitRate {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let rates = || Self::RATES.map(|rate| rate.to_string()).join(", ");
        let bits = text.parse().ok().and_then(Self::of);
        bits.ok_or_else(|| format!("invalid bit rate `{text}` (expected {})", rates()))
    }
}

/// What comes of an adapter.
#[derive(Debug, Clone)]
pub enum SerialLineEvent {
    /// A frame of the bus.
    Frame(CanFrame),
    /// The last command was taken.
    Taken,
    /// The last command was refused.
    Refused,
}

/// The text of an adapter, cut into what it says.
#[derive(Debug, Default)]
pub struct SerialLine {
    line: Vec<u8>,
    /// Bytes that are no line of the protocol.
    pub unknown: u64,
}

impl SerialLine {
    /// What opens a bus: closed first, where another program left it open.
    pub fn opening(rate: BitRate) -> [String; 3] {
        ["C\r".to_owned(), format!("S{}\r", rate.0), "O\r".to_owned()]
    }

    /// What closes it.
    pub const CLOSING: &'static str = "C\r";

    /// A classic data frame as a command; `None` for any other frame.
    pub fn command(frame: &CanFrame) -> Option<String> {
        if frame.kind != FrameKind::Classic || frame.data().len() > 8 {
            return None;
        }
        let number = frame.id.number();
        let mut text = if frame.id.is_extended() { format!("T{number:08X}") } else { format!("t{number:03X}") };
        text.push_str(&frame.data().len().to_string());
        for byte in frame.data() {
            text.push_str(&format!("{byte:02X}"));
        }
        text.push('\r');
        Some(text)
    }

    /// Takes bytes of the adapter.
    pub fn take(&mut self, bytes: &[u8], out: &mut dyn FnMut(SerialLineEvent)) {
        for byte in bytes {
            match byte {
                b'\r' => {
                    let line = std::mem::take(&mut self.line);
                    match &line[..] {
                        [] | b"z" | b"Z" => out(SerialLineEvent::Taken),
                        line => match frame(line) {
                            Some(frame) => out(SerialLineEvent::Frame(frame)),
                            None => self.unknown += line.len() as u64,
                        },
                    }
                }
                0x07 => {
                    self.line.clear();
                    out(SerialLineEvent::Refused);
                }
                _ if self.line.len() >= LONGEST => {
                    self.unknown += self.line.len() as u64 + 1;
                    self.line.clear();
                }
                byte => self.line.push(*byte),
            }
        }
    }
}

/// The frame in a line. What comes before it in the same line (a `z` without its end) is passed over.
fn frame(line: &[u8]) -> Option<CanFrame> {
    let line = line.strip_prefix(b"z").or_else(|| line.strip_prefix(b"Z")).unwrap_or(line);
    let (kind, rest) = line.split_first()?;
    let digits = match kind {
        b't' => 3,
        b'T' => 8,
        _ => return None,
    };
    let (number, rest) = rest.split_at_checked(digits)?;
    let (length, data) = rest.split_first()?;
    let number = u32::try_from(hexadecimal(number)?).ok()?;
    let id = if *kind == b't' { CanId::standard(number) } else { CanId::extended(number) }.ok()?;
    let length = usize::from(length.checked_sub(b'0').filter(|length| *length <= 8)?);
    let (data, time) = data.split_at_checked(2 * length)?;
    if !matches!(time.len(), 0 | 4) || hexadecimal(time).is_none() && !time.is_empty() {
        return None;
    }
    let bytes: Option<Vec<u8>> =
        data.chunks(2).map(|pair| hexadecimal(pair).and_then(|byte| u8::try_from(byte).ok())).collect();
    CanFrame::new(id, &bytes?)
}

fn hexadecimal(digits: &[u8]) -> Option<u64> {
    let plain = !digits.is_empty() && digits.iter().all(u8::is_ascii_hexdigit);
    let text = std::str::from_utf8(digits).ok().filter(|_| plain)?;
    u64::from_str_radix(text, 16).ok()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn events(line: &mut SerialLine, bytes: &[u8]) -> Vec<String> {
        let mut events = Vec::new();
        line.take(bytes, &mut |event| {
            events.push(match event {
                SerialLineEvent::Frame(frame) => asfound_wire::log::candump_text(&frame, ""),
                SerialLineEvent::Taken => "taken".to_owned(),
                SerialLineEvent::Refused => "refused".to_owned(),
            });
        });
        events
    }

    #[test]
    fn frames_and_answers_are_told_apart() {
        let mut line = SerialLine::default();
        let found = events(&mut line, b"\rz\r\x07t7E880462F1AAAAAAAAAA\rT18DAF10E203FF\rt7E82010212AB\r");
        assert_eq!(found, ["taken", "taken", "refused", "7E8#0462F1AAAAAAAAAA", "18DAF10E#03FF", "7E8#0102"]);
        assert_eq!(line.unknown, 0);
        assert_eq!(events(&mut line, b"t7E880462F1AAAAAA"), Vec::<String>::new());
        assert_eq!(events(&mut line, b"AAAA\r"), ["7E8#0462F1AAAAAAAAAA"]);
    }

    #[test]
    fn what_is_no_frame_is_counted() {
        let mut line = SerialLine::default();
        for wrong in ["t7E", "t7E89", "t7E8201", "t8008", "x", "t7E8+0102", "T18DAF10", "V1013", "t7E820102123"] {
            let before = line.unknown;
            assert_eq!(events(&mut line, format!("{wrong}\r").as_bytes()), Vec::<String>::new(), "{wrong}");
            assert!(line.unknown > before, "{wrong}");
        }
        assert!(BitRate::of(500_000) == Some(BitRate::USUAL) && "5".parse::<BitRate>().is_err());
        assert_eq!(SerialLine::opening(BitRate::USUAL).concat(), "C\rS6\rO\r");
    }

    proptest! {
        #[test]
        fn a_frame_that_is_written_is_read_as_it_was(
            number in 0u32..0x2000_0000,
            extended: bool,
            data in prop::collection::vec(any::<u8>(), 0..9),
        ) {
            let id = if extended { CanId::extended(number) } else { CanId::standard(number & 0x7FF) }.unwrap();
            let frame = CanFrame::new(id, &data).unwrap();
            let command = SerialLine::command(&frame).unwrap();
            let found = events(&mut SerialLine::default(), command.as_bytes());
            prop_assert_eq!(found, [asfound_wire::log::candump_text(&frame, "")]);
        }

        #[test]
        fn any_bytes_are_taken(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            events(&mut SerialLine::default(), &bytes);
        }
    }
}
