//! Messages out of a stream of bytes.

use super::IpKind;

/// The header: version, its complement, type, length (ISO 13400-2, generic header).
const HEADER: usize = 8;
/// More than any message needs; a larger length is taken for bytes that are no header.
const LARGEST: usize = 1 << 20;

/// A message as it travels: the header of ISO 13400-2:2012 and 2019 (version `02`, its complement, type, length) and its content. Its
/// length has 32 bits; `None` for more.
pub fn framed(kind: u16, content: &[u8]) -> Option<Vec<u8>> {
    let length = u32::try_from(content.len()).ok()?;
    let mut bytes = vec![0x02, 0xFD];
    bytes.extend(kind.to_be_bytes());
    bytes.extend(length.to_be_bytes());
    bytes.extend(content);
    Some(bytes)
}

/// Takes messages out of the bytes of one direction of a connection, or of a datagram.
#[derive(Debug, Default)]
pub struct Framing {
    bytes: Vec<u8>,
    start: usize,
    lost: bool,
}

/// What came out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FramingStep {
    /// A message.
    Message(IpKind),
    /// Bytes that are no message were passed over. Told once for each stretch.
    PassedOver,
}

/// Whether a header can stand here: a version with its complement, and a length that can be.
fn is_header(bytes: &[u8]) -> bool {
    bytes[0] == !bytes[1]
        && matches!(bytes[0], 1..=4 | 0xFF)
        && (u32::from_be_bytes([bytes[4], bytes[5], bytes[6], bytes[7]]) as usize) <= LARGEST
}

impl Framing {
    /// Adds bytes.
    pub fn add(&mut self, bytes: &[u8]) {
        if self.start > 0 {
            self.bytes.drain(..self.start);
            self.start = 0;
        }
        self.bytes.extend_from_slice(bytes);
    }

    /// Forgets a message whose end is missing; says whether there was one.
    pub fn forget(&mut self) -> bool {
        let had = self.bytes.len() > self.start;
        self.bytes.clear();
        self.start = 0;
        had
    }

    /// Whether bytes are waiting for more.
    pub fn is_waiting(&self) -> bool {
        self.bytes.len() > self.start
    }

    /// The next thing that is complete.
    pub fn step(&mut self) -> Option<FramingStep> {
        let rest = &self.bytes[self.start..];
        if rest.len() < HEADER {
            return None;
        }
        if !is_header(rest) {
            let next = rest.windows(HEADER).position(is_header).unwrap_or(rest.len() + 1 - HEADER);
            self.start += next;
            if self.lost {
                return self.step();
            }
            self.lost = true;
            return Some(FramingStep::PassedOver);
        }
        let length = u32::from_be_bytes([rest[4], rest[5], rest[6], rest[7]]) as usize;
        let payload = rest.get(HEADER..HEADER + length)?;
        let kind = u16::from_be_bytes([rest[2], rest[3]]);
        let message = IpKind::read(kind, payload);
        self.start += HEADER + length;
        self.lost = false;
        Some(FramingStep::Message(message))
    }
}
