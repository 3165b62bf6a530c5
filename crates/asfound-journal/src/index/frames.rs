//! A file that is only added to, each part of it checked together with all that came before.
//!
//! It begins with a head. Each frame is the length of its content (four bytes, lowest first), a checksum (eight bytes,
//! likewise) and the content. The checksum is that of the content, and that again with the checksum before as its seed; the one
//! before the first frame is that of the head. So no frame can be lost, doubled, put elsewhere or altered without the
//! file being believed only up to there; which is what also becomes of a frame that was being written when the power went.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::mem;

use xxhash_rust::xxh3::{xxh3_64, xxh3_64_with_seed};

/// No entry comes near this. A length beyond it is damage, and not worth the memory.
const LONGEST: usize = 1 << 28;
/// What stands before the content of a frame.
const HEAD: usize = 4 + 8;
/// How much is read at once.
const BUFFER: usize = 1 << 16;

/// Up to where a file is read or written, and what the next frame's checksum follows on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct FramePosition {
    pub(super) length: u64,
    checksum: u64,
}

impl FramePosition {
    /// Behind the head.
    pub(super) fn after_head(head: &[u8]) -> Self {
        Self { length: head.len() as u64, checksum: xxh3_64(head) }
    }

    fn after(self, content: &[u8]) -> Option<Self> {
        let length = u32::try_from(content.len()).ok().filter(|_| content.len() <= LONGEST)?;
        // A seed makes a short content no dearer, but a long one.
        let checksum = xxh3_64_with_seed(&xxh3_64(content).to_le_bytes(), self.checksum);
        Some(Self { length: self.length + HEAD as u64 + u64::from(length), checksum })
    }
}

/// Reads frames until one is not whole.
pub(super) struct FrameReader<R> {
    from: BufReader<R>,
    mark: FramePosition,
    /// How many bytes of the reader's buffer were handed out last.
    given: usize,
    /// A frame that was not in the buffer as a whole.
    content: Vec<u8>,
}

impl<R: Read> FrameReader<R> {
    /// Begins to read; nothing where the file has another head.
    pub(super) fn open(from: R, head: &[u8]) -> Option<Self> {
        let mut from = BufReader::with_capacity(BUFFER, from);
        let mut found = vec![0; head.len()];
        from.read_exact(&mut found).ok()?;
        (found == head).then(|| Self { from, mark: FramePosition::after_head(head), given: 0, content: Vec::new() })
    }

    /// Behind the last whole frame.
    pub(super) fn mark(&self) -> FramePosition {
        self.mark
    }

    /// The content of the next frame; nothing where there is none, or none that is whole.
    pub(super) fn next(&mut self) -> Option<&[u8]> {
        self.from.consume(mem::take(&mut self.given));
        if let Some((length, mark)) = self.buffered() {
            self.mark = mark;
            self.given = HEAD + length;
            return self.from.buffer().get(HEAD..HEAD + length);
        }
        let (mut length, mut checksum) = ([0; 4], [0; 8]);
        self.from.read_exact(&mut length).ok()?;
        self.from.read_exact(&mut checksum).ok()?;
        let length = usize::try_from(u32::from_le_bytes(length)).ok().filter(|length| *length <= LONGEST)?;
        self.content.clear();
        // Room is made for what is there, not for what a damaged length says.
        let read = self.from.by_ref().take(length as u64).read_to_end(&mut self.content).ok()?;
        let mark = self.mark.after(&self.content)?;
        if read != length || mark.checksum != u64::from_le_bytes(checksum) {
            return None;
        }
        self.mark = mark;
        Some(&self.content)
    }

    /// The length of the next frame, and the mark behind it, where the buffer has it as a whole, as it has nearly all.
    fn buffered(&self) -> Option<(usize, FramePosition)> {
        let (head, rest) = self.from.buffer().split_first_chunk::<HEAD>()?;
        let (length, checksum) = head.split_first_chunk::<4>()?;
        let length = usize::try_from(u32::from_le_bytes(*length)).ok()?;
        let mark = self.mark.after(rest.get(..length)?)?;
        (mark.checksum.to_le_bytes() == *checksum).then_some((length, mark))
    }
}

/// Adds a frame, and says up to where the file then is.
pub(super) fn write(mut to: impl Write, at: FramePosition, content: &[u8]) -> io::Result<FramePosition> {
    let mark = at.after(content).ok_or_else(|| io::Error::from(io::ErrorKind::FileTooLarge))?;
    let length = u32::try_from(content.len()).map_err(|_| io::ErrorKind::FileTooLarge)?;
    let mut frame = Vec::with_capacity(content.len() + 12);
    frame.extend_from_slice(&length.to_le_bytes());
    frame.extend_from_slice(&mark.checksum.to_le_bytes());
    frame.extend_from_slice(content);
    to.write_all(&frame)?;
    Ok(mark)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of nothing, with the seed 0: from memory, of xxHash's own tests. Everything else is held against the crate `twox-hash`.
    #[test]
    fn the_checksum_is_the_one_that_others_work_out() {
        assert_eq!(xxh3_64_with_seed(b"", 0), 0x2D06_8005_38D3_94C2);
        let bytes: Vec<u8> = (0..1000u32).map(|n| n.wrapping_mul(2_654_435_761).to_le_bytes()[3]).collect();
        for length in 0..bytes.len() {
            let seed = (length as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
            let other = twox_hash::XxHash3_64::oneshot_with_seed(seed, &bytes[..length]);
            assert_eq!(xxh3_64_with_seed(&bytes[..length], seed), other, "{length} bytes");
        }
    }

    const HEAD: &[u8] = b"a head\n";

    fn file(contents: &[&[u8]]) -> Vec<u8> {
        let mut file = HEAD.to_vec();
        let mut mark = FramePosition::after_head(HEAD);
        for content in contents {
            mark = write(&mut file, mark, content).unwrap();
        }
        assert_eq!(mark.length, file.len() as u64);
        file
    }

    fn read(file: &[u8]) -> Vec<Vec<u8>> {
        let Some(mut frames) = FrameReader::open(file, HEAD) else { return Vec::new() };
        let mut contents = Vec::new();
        while let Some(content) = frames.next() {
            contents.push(content.to_vec());
        }
        contents
    }

    #[test]
    fn frames_across_the_ends_of_the_buffer_are_read_too() {
        let sizes = [1, BUFFER, 300, BUFFER - 12, 0, BUFFER - 11, 5, 3 * BUFFER + 1, 700];
        let contents: Vec<Vec<u8>> =
            (1..=9u8).zip(sizes).map(|(n, size)| (0..size).map(|at| n ^ at.to_le_bytes()[0]).collect()).collect();
        let borrowed: Vec<&[u8]> = contents.iter().map(Vec::as_slice).collect();
        assert_eq!(read(&file(&borrowed)), contents);
        let many: Vec<Vec<u8>> = (0..2000usize).map(|n| vec![n.to_le_bytes()[0]; n * 37 % 211]).collect();
        let borrowed: Vec<&[u8]> = many.iter().map(Vec::as_slice).collect();
        assert_eq!(read(&file(&borrowed)), many);
    }

    #[test]
    fn what_is_cut_or_altered_is_not_believed() {
        let contents: [&[u8]; 4] = [b"one", b"", b"three", b"four"];
        let whole = file(&contents);
        assert_eq!(read(&whole), contents);
        for length in 0..whole.len() {
            let found = read(&whole[..length]);
            assert!(found.len() < 4 && found == contents[..found.len()], "cut at {length}");
        }
        for at in 0..whole.len() {
            for bit in 0..8 {
                let mut other = whole.clone();
                other[at] ^= 1 << bit;
                let found = read(&other);
                assert!(found.len() < 4 && found == contents[..found.len()], "byte {at} bit {bit}");
            }
        }
    }

    #[test]
    fn frames_belong_where_they_are() {
        // One of the two in the middle is left out, doubled or swapped with the other, which has the same length.
        let (head, size) = (HEAD.len(), 12 + 3);
        let whole = file(&[b"one", b"two", b"six", b"ten"]);
        let frame = |n: usize| &whole[head + n * size..head + (n + 1) * size];
        for (order, believed) in [([0, 2, 3].as_slice(), 1), (&[0, 1, 1, 2, 3], 2), (&[0, 2, 1, 3], 1), (&[1, 0], 0)] {
            let other: Vec<u8> =
                HEAD.iter().copied().chain(order.iter().flat_map(|n| frame(*n).iter().copied())).collect();
            assert_eq!(read(&other).len(), believed, "{order:?}");
        }
    }
}
