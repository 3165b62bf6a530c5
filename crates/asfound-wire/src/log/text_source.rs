//! Text as a redirect or an editor leaves it: with a byte order mark, or in UTF-16.

use std::io::{self, Read};

use super::unpack::peek;

/// Text without a byte order mark, in bytes; UTF-16 as its letters of ASCII, any other letter as `?`. What is no such text
/// comes as it is.
pub(super) fn plain_text<'a, R: Read + 'a>(reader: R) -> io::Result<Box<dyn Read + 'a>> {
    let (head, mut reader) = peek(reader, 3)?;
    Ok(match head.as_slice() {
        [0xEF, 0xBB, 0xBF] => {
            reader.read_exact(&mut [0; 3])?;
            Box::new(reader)
        }
        [0xFF, 0xFE, ..] => Box::new(Utf16 { reader, little: true, half: None, begun: false }),
        [0xFE, 0xFF, ..] => Box::new(Utf16 { reader, little: false, half: None, begun: false }),
        _ => Box::new(reader),
    })
}

struct Utf16<R> {
    reader: R,
    little: bool,
    /// The first byte of a pair whose second was not read yet.
    half: Option<u8>,
    /// Whether the byte order mark was passed over.
    begun: bool,
}

impl<R: Read> Read for Utf16<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if into.is_empty() {
            return Ok(0);
        }
        let mut pairs = vec![0; into.len().min(1 << 16) * 2];
        loop {
            let kept = usize::from(self.half.is_some());
            if let Some(half) = self.half.take() {
                pairs[0] = half;
            }
            let read = self.reader.read(&mut pairs[kept..])?;
            let filled = kept + read;
            let mut written = 0;
            for pair in pairs[..filled].as_chunks::<2>().0 {
                let unit = if self.little { u16::from_le_bytes(*pair) } else { u16::from_be_bytes(*pair) };
                if !std::mem::replace(&mut self.begun, true) {
                    continue;
                }
                into[written] = u8::try_from(unit).ok().filter(u8::is_ascii).unwrap_or(b'?');
                written += 1;
            }
            if filled % 2 == 1 {
                self.half = Some(pairs[filled - 1]);
            }
            if written > 0 || read == 0 {
                return Ok(written);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gives one byte at a time.
    struct Slow<'a>(&'a [u8]);

    impl Read for Slow<'_> {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            let count = self.0.len().min(1).min(into.len());
            self.0.read(&mut into[..count])
        }
    }

    fn read(bytes: &[u8]) -> String {
        let mut text = String::new();
        plain_text(Slow(bytes)).expect("bytes can be read").read_to_string(&mut text).expect("it is ASCII");
        text
    }

    #[test]
    fn marks_go_and_sixteen_bits_become_eight() {
        let text = "can0  7E0   [3]  02 10 03\r\n";
        let little: Vec<u8> = [0xFEFF].into_iter().chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = [0xFEFF].into_iter().chain(text.encode_utf16()).flat_map(u16::to_be_bytes).collect();
        let marked = [&[0xEF, 0xBB, 0xBF], text.as_bytes()].concat();
        for bytes in [&little, &big, &marked, &text.as_bytes().to_vec()] {
            assert_eq!(read(bytes), text);
        }
        assert_eq!(read(&[0xFF, 0xFE, 0xE4, 0x00, 0x41, 0x00]), "?A");
        // A half letter at the end is none.
        assert_eq!(read(&[0xFF, 0xFE, 0x41, 0x00, 0x42]), "A");
        assert_eq!(read(&[0xFF, 0xFE]), "");
        assert_eq!(read(&[]), "");
    }
}
