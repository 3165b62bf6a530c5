//! The text of a document as UTF-8, whatever its encoding, counted and bounded.

use std::cell::{Cell, RefCell};
use std::io::{self, BufRead, Read};
use std::rc::Rc;

use encoding_rs::{Decoder, DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE};

const RAW: usize = 64 << 10;
const TEXT: usize = 128 << 10;
/// How much of the beginning is looked at for the declaration.
const HEAD: usize = 256;

/// Why no more text comes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Stop {
    /// The bytes are not of this encoding.
    Encoding(&'static str),
    /// The declared encoding is not known.
    UnknownEncoding(String),
    /// The document is larger than allowed.
    Document(u64),
    /// A tag or a run of text is longer than allowed.
    Token(usize),
}

/// What is known of the text that was handed out, shared with the parser.
#[derive(Debug)]
pub(crate) struct Gauge {
    line: Cell<u32>,
    token: Cell<usize>,
    stop: RefCell<Option<Stop>>,
}

impl Gauge {
    /// The line that is reached, counted from 1.
    pub(crate) fn line(&self) -> u32 {
        self.line.get()
    }

    /// A new tag or run of text begins.
    pub(crate) fn begin_token(&self) {
        self.token.set(0);
    }

    /// Why no more text comes, if that is so.
    pub(crate) fn stop(&self) -> Option<Stop> {
        self.stop.borrow().clone()
    }
}

/// The text of a document as UTF-8.
pub(crate) struct TextSource<'r> {
    inner: Box<dyn Read + 'r>,
    raw: Vec<u8>,
    raw_from: usize,
    ended: bool,
    decoder: Option<Decoder>,
    finished: bool,
    broken: Option<&'static str>,
    text: Vec<u8>,
    text_from: usize,
    total: u64,
    most: u64,
    most_token: usize,
    gauge: Rc<Gauge>,
}

impl<'r> TextSource<'r> {
    /// The text of `inner`: at most `most` bytes, and at most `most_token` of them in one tag or run of text.
    pub(crate) fn new(inner: Box<dyn Read + 'r>, most: u64, most_token: usize) -> Self {
        let gauge = Rc::new(Gauge { line: Cell::new(1), token: Cell::new(0), stop: RefCell::new(None) });
        Self {
            inner,
            raw: Vec::new(),
            raw_from: 0,
            ended: false,
            decoder: None,
            finished: false,
            broken: None,
            text: Vec::new(),
            text_from: 0,
            total: 0,
            most,
            most_token,
            gauge,
        }
    }

    /// What is known of the text handed out so far.
    pub(crate) fn gauge(&self) -> Rc<Gauge> {
        Rc::clone(&self.gauge)
    }

    fn stopped(&self, stop: Stop) -> io::Error {
        *self.gauge.stop.borrow_mut() = Some(stop);
        io::Error::other("the text stops here")
    }

    /// Reads more raw bytes, behind those that are left.
    fn more_raw(&mut self) -> io::Result<()> {
        self.raw.drain(..self.raw_from);
        self.raw_from = 0;
        let before = self.raw.len();
        self.raw.resize(before + RAW, 0);
        let read = loop {
            match self.inner.read(&mut self.raw[before..]) {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                other => break other,
            }
        };
        let count = read.inspect_err(|_| self.raw.truncate(before))?;
        self.raw.truncate(before + count);
        self.ended = count == 0;
        self.total += count as u64;
        if self.total > self.most {
            return Err(self.stopped(Stop::Document(self.most)));
        }
        Ok(())
    }

    fn decoder(&mut self) -> io::Result<()> {
        while self.raw.len() < HEAD && !self.ended {
            self.more_raw()?;
        }
        let encoding = encoding_of(&self.raw).map_err(|label| self.stopped(Stop::UnknownEncoding(label)))?;
        self.decoder = Some(encoding.new_decoder_with_bom_removal());
        Ok(())
    }

    fn more_text(&mut self) -> io::Result<()> {
        if let Some(name) = self.broken {
            return Err(self.stopped(Stop::Encoding(name)));
        }
        if self.decoder.is_none() {
            self.decoder()?;
        }
        self.text.resize(TEXT, 0);
        self.text_from = 0;
        let mut filled = 0;
        while filled == 0 && !self.finished {
            if self.raw_from == self.raw.len() && !self.ended {
                self.more_raw().inspect_err(|_| self.text.clear())?;
            }
            let last = self.ended;
            let decoder = self.decoder.as_mut().expect("it was made above");
            let (result, read, written) =
                decoder.decode_to_utf8_without_replacement(&self.raw[self.raw_from..], &mut self.text, last);
            let name = decoder.encoding().name();
            self.raw_from += read;
            filled = written;
            match result {
                DecoderResult::InputEmpty => self.finished = last,
                DecoderResult::OutputFull => {}
                DecoderResult::Malformed(..) => {
                    // What stands before the fault is handed out first, so that the line is right.
                    self.broken = Some(name);
                    self.finished = false;
                    self.text.truncate(written);
                    return if written == 0 { Err(self.stopped(Stop::Encoding(name))) } else { Ok(()) };
                }
            }
        }
        self.text.truncate(filled);
        Ok(())
    }
}

/// The encoding that the beginning of a document shows or names (XML 1.0, appendix F).
fn encoding_of(head: &[u8]) -> Result<&'static Encoding, String> {
    if let Some((encoding, _)) = Encoding::for_bom(head) {
        return Ok(encoding);
    }
    match head {
        [b'<', 0, ..] => return Ok(UTF_16LE),
        [0, b'<', ..] => return Ok(UTF_16BE),
        _ => {}
    }
    let Some(declared) = declared(head) else { return Ok(UTF_8) };
    match Encoding::for_label(declared.as_bytes()) {
        // The declaration was read byte by byte, so it is not in two-byte units whatever it says.
        Some(encoding) if encoding == UTF_16LE || encoding == UTF_16BE => Ok(UTF_8),
        Some(encoding) => Ok(encoding),
        None => Err(declared),
    }
}

fn declared(head: &[u8]) -> Option<String> {
    let head = &head[..head.len().min(HEAD)];
    let text: String = head.iter().take_while(|byte| byte.is_ascii()).map(|byte| char::from(*byte)).collect();
    let declaration = text.strip_prefix("<?xml")?;
    let declaration = &declaration[..declaration.find("?>")?];
    let value = declaration[declaration.find("encoding")? + 8..].trim_start().strip_prefix('=')?.trim_start();
    let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    value[1..].split(quote).next().map(str::to_owned)
}

impl Read for TextSource<'_> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let count = self.fill_buf()?.len().min(to.len());
        to[..count].copy_from_slice(&self.text[self.text_from..self.text_from + count]);
        self.consume(count);
        Ok(count)
    }
}

impl BufRead for TextSource<'_> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.text_from == self.text.len() && !self.finished {
            self.more_text()?;
        }
        if self.gauge.token.get() > self.most_token {
            return Err(self.stopped(Stop::Token(self.most_token)));
        }
        Ok(&self.text[self.text_from..])
    }

    fn consume(&mut self, count: usize) {
        let consumed = &self.text[self.text_from..self.text_from + count];
        let lines = u32::try_from(memchr::memchr_iter(b'\n', consumed).count()).unwrap_or(u32::MAX);
        self.gauge.line.set(self.gauge.line.get().saturating_add(lines));
        self.gauge.token.set(self.gauge.token.get().saturating_add(count));
        self.text_from += count;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8]) -> Result<String, Option<Stop>> {
        let mut source = TextSource::new(Box::new(bytes), 1 << 20, 1 << 20);
        let gauge = source.gauge();
        let mut text = String::new();
        source.read_to_string(&mut text).map(|_| text).map_err(|_| gauge.stop())
    }

    #[test]
    fn reads_what_a_document_says_it_is_written_in() {
        let utf16 = |swap: bool| {
            let units = "<a>\u{e4}</a>".encode_utf16();
            units.flat_map(|unit| if swap { unit.to_be_bytes() } else { unit.to_le_bytes() }).collect::<Vec<u8>>()
        };
        assert_eq!(read(&utf16(false)).unwrap(), "<a>\u{e4}</a>");
        assert_eq!(read(&[b"\xFE\xFF".as_slice(), &utf16(true)].concat()).unwrap(), "<a>\u{e4}</a>");
        let latin = b"<?xml version='1.0' encoding='ISO-8859-1'?><a>\xE4</a>";
        assert!(read(latin).unwrap().ends_with("<a>\u{e4}</a>"));
        assert_eq!(read(b"\xEF\xBB\xBF<a/>").unwrap(), "<a/>");
    }

    #[test]
    fn stops_where_the_bytes_are_something_else() {
        assert_eq!(read(b"<a>\n\xE4</a>"), Err(Some(Stop::Encoding("UTF-8"))));
        let unknown = read(b"<?xml version='1.0' encoding='klingon'?><a/>");
        assert_eq!(unknown, Err(Some(Stop::UnknownEncoding("klingon".into()))));
        let mut source = TextSource::new(Box::new(io::repeat(b'a')), 1 << 20, 1 << 30);
        assert!(source.read_to_end(&mut Vec::new()).is_err());
        assert_eq!(source.gauge().stop(), Some(Stop::Document(1 << 20)));
    }
}
