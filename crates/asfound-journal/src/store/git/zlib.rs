//! The compression of git's objects (zlib, RFC 1950).

use std::io::Read;

use super::bounds;
use flate2::read::ZlibDecoder;
use flate2::{Compress, Compression, FlushCompress, Status};

/// What stands before the content of an object: its kind and its length.
const HEAD: u64 = 32;

/// What was compressed; nothing where the bytes end before it does, or are not what zlib writes, or it is longer than any object may
/// be. What follows it does not count.
pub(super) fn inflated(compressed: &[u8]) -> Option<Vec<u8>> {
    let mut content = Vec::with_capacity(compressed.len() * 3);
    let longest = bounds::LARGEST as u64 + HEAD;
    ZlibDecoder::new(compressed).take(longest + 1).read_to_end(&mut content).ok()?;
    (content.len() as u64 <= longest).then_some(content)
}

/// Compresses one content after another, which is cheaper than to begin anew for each.
pub(super) struct Deflater(Compress);

impl Deflater {
    pub(super) fn new() -> Self {
        Self(Compress::new(Compression::default(), true))
    }

    /// As git does it for objects in files of their own, which are read soon or packed later.
    pub(super) fn fast() -> Self {
        Self(Compress::new(Compression::fast(), true))
    }

    pub(super) fn deflated(&mut self, content: &[u8]) -> Vec<u8> {
        self.0.reset();
        // What cannot be made smaller takes five bytes more for each block, and the frame (RFC 1951, 3.2.4).
        let mut out = Vec::with_capacity(content.len() + content.len() / 1_000 + 64);
        loop {
            let taken = usize::try_from(self.0.total_in()).expect("no more is taken in than there is");
            let status = self.0.compress_vec(&content[taken..], &mut out, FlushCompress::Finish);
            match status.expect("a stream that was begun anew takes anything") {
                Status::StreamEnd => return out,
                Status::Ok | Status::BufError => out.reserve(out.capacity()),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_compressed_is_read_again_and_what_is_cut_short_is_not() {
        let mut deflater = Deflater::new();
        let noise: Vec<u8> = (0..300_000_u32).map(|n| n.wrapping_mul(2_654_435_761).to_le_bytes()[3]).collect();
        let same = vec![7; 100_000];
        for content in [&b""[..], b"a", b"blob 3\0abc", &same, &noise] {
            let compressed = deflater.deflated(content);
            assert_eq!(inflated(&compressed).as_deref(), Some(content));
            assert_eq!(inflated(&[&compressed[..], b"more"].concat()).as_deref(), Some(content));
            for cut in [0, 1, compressed.len() / 2, compressed.len() - 1] {
                assert_eq!(inflated(&compressed[..cut]), None, "{cut} of {}", compressed.len());
            }
        }
    }
}
