//! Logs of a bus that never was: conversations between a tester and the modules of an invented vehicle, in candump's form.

use std::fmt::Write as _;

use time::{Duration, OffsetDateTime};

/// A log that is being written: transport by ISO 15765-2 in normal addressing, with ordinary traffic in between.
pub struct BusLog {
    text: String,
    now: OffsetDateTime,
    ordinary: u32,
}

/// A module by its identifiers: where it is asked, where it answers.
#[derive(Clone, Copy)]
pub struct BusModule(pub &'static str, pub &'static str);

impl BusLog {
    /// A log that begins at a moment.
    pub fn at(now: OffsetDateTime) -> Self {
        let mut log = Self { text: String::new(), now, ordinary: 0 };
        log.ordinary(12);
        log
    }

    /// The log as text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Nothing of diagnostics for some time.
    pub fn wait(&mut self, time: Duration) -> &mut Self {
        self.now += time;
        self.ordinary(6);
        self
    }

    /// Ordinary traffic: frames that are no transport.
    fn ordinary(&mut self, frames: u32) {
        for _ in 0..frames {
            self.ordinary += 1;
            let number = self.ordinary;
            self.frame(
                &format!("{:03X}", 0x120 + number % 5 * 0x10),
                &[0xF0, number.to_le_bytes()[0], 0xFF, 0, 1, 2, 3, 4],
            );
        }
    }

    fn frame(&mut self, id: &str, data: &[u8]) {
        self.now += Duration::microseconds(1500);
        let (seconds, micros) = (self.now.unix_timestamp(), self.now.microsecond());
        write!(self.text, "({seconds}.{micros:06}) can0 {id}#").expect("writing to a string");
        data.iter().for_each(|byte| write!(self.text, "{byte:02X}").expect("writing to a string"));
        self.text.push('\n');
    }

    /// One message with its flow control.
    fn message(&mut self, id: &str, other: &str, payload: &[u8]) {
        let padded = |mut data: Vec<u8>| {
            data.resize(8, 0xAA);
            data
        };
        if let (0..=7, Ok(length)) = (payload.len(), u8::try_from(payload.len())) {
            self.frame(id, &padded([&[length], payload].concat()));
            return;
        }
        let length = u16::try_from(payload.len()).expect("no longer than a message can be") | 0x1000;
        self.frame(id, &[&length.to_be_bytes(), &payload[..6]].concat());
        self.frame(other, &padded(vec![0x30, 0, 0]));
        for (number, piece) in (1_u8..).zip(payload[6..].chunks(7)) {
            self.frame(id, &padded([&[0x20 | number & 0x0F], piece].concat()));
        }
    }

    /// A request, in hexadecimal.
    pub fn ask(&mut self, module: BusModule, request: &str) -> &mut Self {
        self.message(module.0, module.1, &bytes(request));
        self
    }

    /// A response, in hexadecimal.
    pub fn answer(&mut self, module: BusModule, response: &str) -> &mut Self {
        self.message(module.1, module.0, &bytes(response));
        self
    }

    /// Takes out the frames that contain some text, as of an identifier and its first bytes; how many there were.
    pub fn lose(&mut self, frame: &str) -> usize {
        let before = self.text.lines().count();
        let kept: Vec<&str> = self.text.lines().filter(|line| !line.contains(frame)).collect();
        let lost = before - kept.len();
        self.text = kept.join("\n") + "\n";
        lost
    }

    /// A record is read.
    pub fn read(&mut self, module: BusModule, record: &str, content: &str) -> &mut Self {
        self.ask(module, &format!("22{record}")).answer(module, &format!("62{record}{content}"))
    }

    /// A record is written, and the module accepts it.
    pub fn write(&mut self, module: BusModule, record: &str, content: &str) -> &mut Self {
        self.ask(module, &format!("2E{record}{content}")).answer(module, &format!("6E{record}"))
    }
}

/// A text as the bytes of a record, in hexadecimal.
pub fn hex_of(text: &str) -> String {
    let mut hex = String::new();
    text.bytes().for_each(|byte| write!(hex, "{byte:02X}").expect("writing to a string"));
    hex
}

/// Hexadecimal digits as bytes.
pub(crate) fn bytes(hex: &str) -> Vec<u8> {
    let digits: Vec<char> = hex.chars().filter(|c| !c.is_whitespace()).collect();
    let byte = |pair: &[char]| u8::from_str_radix(&pair.iter().collect::<String>(), 16).expect("hexadecimal digits");
    digits.chunks(2).map(byte).collect()
}
