//! Compression, told by the first bytes.

use std::io::{self, BufRead, BufReader, Cursor, Read};

/// The first bytes of a stream without losing them.
pub(super) fn peek<R: Read>(mut reader: R, most: usize) -> io::Result<(Vec<u8>, impl Read)> {
    let mut head = vec![0; most];
    let mut filled = 0;
    while filled < most {
        match reader.read(&mut head[filled..]) {
            Ok(0) => break,
            Ok(more) => filled += more,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            // What came before the error is still good; the error comes again.
            Err(error) if filled == 0 => return Err(error),
            Err(_) => break,
        }
    }
    head.truncate(filled);
    Ok((head.clone(), Cursor::new(head).chain(reader)))
}

/// gzip (RFC 1952), also of several members; zstd (RFC 8878), also of several frames; anything else as it is.
pub(super) fn unpacked<'a, R: Read + 'a>(reader: R) -> io::Result<Box<dyn Read + 'a>> {
    let (head, reader) = peek(reader, 4)?;
    Ok(match head.as_slice() {
        [0x1F, 0x8B, ..] => Box::new(flate2::read::MultiGzDecoder::new(reader)),
        [0x28, 0xB5, 0x2F, 0xFD] => Box::new(ZstdFrames { source: Some(Source::Waiting(BufReader::new(reader))) }),
        [0x50..=0x5F, 0x2A, 0x4D, 0x18] => {
            Box::new(ZstdFrames { source: Some(Source::Waiting(BufReader::new(reader))) })
        }
        _ => Box::new(reader),
    })
}

type Decoder<R> = ruzstd::decoding::StreamingDecoder<BufReader<R>, ruzstd::decoding::FrameDecoder>;

/// The frames of a zstd file one after the other; the decoder does one at a time.
struct ZstdFrames<R: Read> {
    source: Option<Source<R>>,
}

enum Source<R: Read> {
    Waiting(BufReader<R>),
    Within(Box<Decoder<R>>),
}

/// A file may ask for a window of any size; what the usual levels use is far below this.
const LARGEST_WINDOW: u64 = 1 << 27;

fn damaged(error: impl std::fmt::Display) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, error.to_string())
}

impl<R: Read> ZstdFrames<R> {
    /// Opens the next frame, passing over skippable ones.
    fn next_frame(mut reader: BufReader<R>) -> io::Result<Option<Source<R>>> {
        loop {
            let head = reader.fill_buf()?;
            if head.is_empty() {
                return Ok(None);
            }
            if head.len() >= 4 && head[0] & 0xF0 == 0x50 && head[1..4] == [0x2A, 0x4D, 0x18] {
                let mut header = [0; 8];
                reader.read_exact(&mut header)?;
                let length = u64::from(u32::from_le_bytes([header[4], header[5], header[6], header[7]]));
                if io::copy(&mut reader.by_ref().take(length), &mut io::sink())? < length {
                    return Err(io::ErrorKind::UnexpectedEof.into());
                }
                continue;
            }
            let decoder = ruzstd::decoding::StreamingDecoder::new_with_max_window_size(reader, LARGEST_WINDOW);
            return Ok(Some(Source::Within(Box::new(decoder.map_err(damaged)?))));
        }
    }
}

impl<R: Read> Read for ZstdFrames<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        loop {
            match self.source.take() {
                None => return Ok(0),
                Some(Source::Waiting(reader)) => self.source = Self::next_frame(reader)?,
                Some(Source::Within(mut decoder)) => {
                    let read = decoder.read(into).map_err(damaged)?;
                    if read > 0 || into.is_empty() {
                        self.source = Some(Source::Within(decoder));
                        return Ok(read);
                    }
                    self.source = Some(Source::Waiting(decoder.into_inner()));
                }
            }
        }
    }
}
