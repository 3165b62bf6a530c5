//! One direction of a TCP connection, put together again (RFC 9293: sequence numbers count bytes, modulo 2³²).

use std::collections::BTreeMap;

/// Segments that came too early are kept up to here; then what is missing is given up.
const MOST_WAITING: usize = 256;
const MOST_BYTES: usize = 1 << 20;

/// What came out of a segment.
#[derive(Debug, PartialEq, Eq)]
pub enum StreamPiece {
    /// The next bytes.
    Bytes(Vec<u8>),
    /// Bytes in front of what follows never came.
    Gap,
}

/// One direction of a connection.
#[derive(Debug, Default)]
pub struct Stream {
    /// The sequence number of the byte that comes next.
    next: Option<u32>,
    /// Segments that came too early, by their distance from the first sequence number seen.
    waiting: BTreeMap<u64, Vec<u8>>,
    waiting_bytes: usize,
    /// Bytes given out so far: the position that `next` stands for.
    position: u64,
}

impl Stream {
    /// The connection begins: the next byte has the number after `sequence`.
    pub fn begin(&mut self, sequence: u32) {
        *self = Self { next: Some(sequence.wrapping_add(1)), ..Self::default() };
    }

    /// Takes the bytes of a segment.
    pub fn take(&mut self, sequence: u32, bytes: &[u8], out: &mut Vec<StreamPiece>) {
        if bytes.is_empty() {
            return;
        }
        let next = *self.next.get_or_insert(sequence);
        // How far ahead it is; more than half the range is behind.
        let ahead = sequence.wrapping_sub(next);
        let bytes = if ahead > i32::MAX as u32 {
            // Sent again, perhaps with new bytes at its end.
            let behind = next.wrapping_sub(sequence) as usize;
            match bytes.get(behind..) {
                Some(new) if !new.is_empty() => new,
                _ => return,
            }
        } else if ahead > 0 {
            return self.wait(u64::from(ahead), bytes, out);
        } else {
            bytes
        };
        self.give(bytes.to_vec(), out);
        self.give_waiting(out);
    }

    /// Gives up what is missing, and gives out the rest.
    pub fn finish(&mut self, out: &mut Vec<StreamPiece>) {
        while let Some((position, _)) = self.waiting.first_key_value() {
            let missing = position - self.position;
            self.skip(missing, out);
        }
    }

    fn wait(&mut self, ahead: u64, bytes: &[u8], out: &mut Vec<StreamPiece>) {
        let place = self.position + ahead;
        let known = self.waiting.get(&place).map_or(0, Vec::len);
        if bytes.len() > known {
            self.waiting_bytes += bytes.len() - known;
            self.waiting.insert(place, bytes.to_vec());
        }
        while self.waiting.len() > MOST_WAITING || self.waiting_bytes > MOST_BYTES {
            let Some((position, _)) = self.waiting.first_key_value() else { return };
            let missing = position - self.position;
            self.skip(missing, out);
        }
    }

    /// Passes over bytes that never came.
    fn skip(&mut self, missing: u64, out: &mut Vec<StreamPiece>) {
        out.push(StreamPiece::Gap);
        self.advance(missing);
        self.give_waiting(out);
    }

    fn give_waiting(&mut self, out: &mut Vec<StreamPiece>) {
        while let Some(first) = self.waiting.first_entry() {
            let Some(overlap) = self.position.checked_sub(*first.key()) else { return };
            let mut bytes = first.remove();
            self.waiting_bytes -= bytes.len();
            let overlap = usize::try_from(overlap).unwrap_or(usize::MAX).min(bytes.len());
            bytes.drain(..overlap);
            self.give(bytes, out);
        }
    }

    fn give(&mut self, bytes: Vec<u8>, out: &mut Vec<StreamPiece>) {
        self.advance(bytes.len() as u64);
        if !bytes.is_empty() {
            out.push(StreamPiece::Bytes(bytes));
        }
    }

    fn advance(&mut self, by: u64) {
        self.position += by;
        // Sequence numbers begin again at 0: the lower 32 bits are what counts.
        let by = u32::try_from(by & 0xFFFF_FFFF).expect("cut to 32 bits");
        self.next = self.next.map(|next| next.wrapping_add(by));
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn segments_in_any_order_and_overlapping_give_the_bytes_back(
            bytes in prop::collection::vec(any::<u8>(), 1..400),
            first: u32,
            cuts in prop::collection::vec((0usize..400, 1usize..60), 0..60),
        ) {
            let mut stream = Stream::default();
            stream.begin(first.wrapping_sub(1));
            let mut out = Vec::new();
            let whole = (0..bytes.len()).step_by(40).map(|start| (start, 40));
            for (start, length) in cuts.into_iter().chain(whole) {
                let Some(part) = bytes.get(start..(start + length).min(bytes.len())) else { continue };
                stream.take(first.wrapping_add(u32::try_from(start).unwrap()), part, &mut out);
            }
            let mut together = Vec::new();
            for piece in out {
                match piece {
                    StreamPiece::Bytes(bytes) => together.extend(bytes),
                    StreamPiece::Gap => prop_assert!(false, "nothing is missing"),
                }
            }
            prop_assert_eq!(together, bytes);
        }
    }

    #[test]
    fn what_never_comes_is_told_and_passed_over() {
        let (mut stream, mut out) = (Stream::default(), Vec::new());
        stream.take(10, b"ab", &mut out);
        stream.take(14, b"ef", &mut out);
        stream.finish(&mut out);
        assert_eq!(out, [StreamPiece::Bytes(b"ab".to_vec()), StreamPiece::Gap, StreamPiece::Bytes(b"ef".to_vec())]);
    }
}
