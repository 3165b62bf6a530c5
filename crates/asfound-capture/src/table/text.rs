//! From the bytes of a file to text.

use encoding_rs::DecoderResult;
use thiserror::Error;

use super::encoding::TableEncoding;
use super::lines::LineCounter;

/// Why the bytes of a file are no text.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TextFault {
    /// No bytes, only white space, or only empty cells.
    #[error("the file is empty")]
    Empty,
    /// Zero bytes, which no text has.
    #[error("the file is not text: it holds zero bytes, as workbooks, pictures and programs do")]
    Binary,
    /// A byte that the encoding does not know in that place.
    #[error("byte {place} of the file, 0x{byte:02X}, makes no character in {encoding}")]
    Invalid {
        /// The byte where the trouble starts.
        byte: u8,
        /// Its place in the file, from 1.
        place: usize,
        /// The encoding that was tried.
        encoding: TableEncoding,
        /// Whether the encoding was neither given nor marked in the file.
        assumed: bool,
    },
}

impl TextFault {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Empty => None,
            Self::Binary => Some(
                "save the table as CSV or tab-separated text; for UTF-16 without a byte-order mark add --encoding utf-16le"
                    .into(),
            ),
            Self::Invalid { assumed: true, .. } => {
                Some("a table saved in an older Windows encoding needs --encoding windows-1252".into())
            }
            Self::Invalid { .. } => Some("give the encoding in which the table was saved with --encoding".into()),
        }
    }
}

/// Decodes the bytes of a table. A byte-order mark decides; without one the encoding that was asked for, else UTF-8.
///
/// On failure gives the fault with its line, where it has one.
pub(super) fn decode(
    bytes: &[u8],
    asked: Option<TableEncoding>,
) -> Result<(String, TableEncoding), (Option<usize>, TextFault)> {
    if bytes.is_empty() {
        return Err((None, TextFault::Empty));
    }
    let marked = TableEncoding::of_mark(bytes);
    let (encoding, mark) = marked.unwrap_or((asked.unwrap_or(TableEncoding::UTF_8), 0));
    let assumed = marked.is_none() && asked.is_none();
    let body = &bytes[mark..];
    // Looked at before decoding: "is no text" says more of a picture than its first byte that is no UTF-8.
    if assumed && body.contains(&0) {
        return Err((None, TextFault::Binary));
    }

    let mut decoder = encoding.decoder();
    let mut text = String::with_capacity(body.len() + 16);
    let mut read = 0;
    loop {
        let (result, taken) = decoder.decode_to_string_without_replacement(&body[read..], &mut text, true);
        read += taken;
        match result {
            DecoderResult::InputEmpty => break,
            DecoderResult::OutputFull => text.reserve(body.len() - read + 64),
            DecoderResult::Malformed(length, after) => {
                let start = (mark + read).saturating_sub(usize::from(length) + usize::from(after));
                let byte = bytes.get(start).copied().unwrap_or_default();
                let line = LineCounter::new(&text).line_at(text.len());
                return Err((Some(line), TextFault::Invalid { byte, place: start + 1, encoding, assumed }));
            }
        }
    }

    if text.contains('\0') {
        return Err((None, TextFault::Binary));
    }
    // Files joined by hand may carry a second mark.
    let unmarked = text.trim_start_matches('\u{feff}');
    if unmarked.trim().is_empty() {
        return Err((None, TextFault::Empty));
    }
    let extra = text.len() - unmarked.len();
    text.drain(..extra);
    Ok((text, encoding))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(bytes: &[u8], asked: Option<&str>) -> Result<String, (Option<usize>, TextFault)> {
        decode(bytes, asked.map(|label| label.parse().unwrap())).map(|(text, _)| text)
    }

    /// Byte-order marks as in the WHATWG Encoding Standard, "BOM sniff" (from memory): EF BB BF, FE FF, FF FE.
    #[test]
    fn a_mark_decides() {
        assert_eq!(text(b"\xEF\xBB\xBF\xC3\xA4", None), Ok("ä".into()));
        assert_eq!(text(b"\xFE\xFF\x00\xE4", None), Ok("ä".into()));
        assert_eq!(text(b"\xFF\xFE\xE4\x00", None), Ok("ä".into()));
        assert_eq!(text(b"\xFF\xFE\xE4\x00", Some("windows-1252")), Ok("ä".into()));
        assert_eq!(text(b"\xEF\xBB\xBF\xEF\xBB\xBFa", None), Ok("a".into()));
    }

    #[test]
    fn without_a_mark_utf_8_or_what_was_asked_for() {
        assert_eq!(text(b"\xC3\xA4", None), Ok("ä".into()));
        assert_eq!(text(b"\xE4", Some("windows-1252")), Ok("ä".into()));
        assert_eq!(text(b"\xE4\x00", Some("utf-16le")), Ok("ä".into()));
    }

    #[test]
    fn says_which_byte_on_which_line() {
        let (line, fault) = text(b"a\r\nb\r\nT\xFCr", None).unwrap_err();
        assert_eq!(line, Some(3));
        assert_eq!(fault.to_string(), "byte 8 of the file, 0xFC, makes no character in UTF-8");
        assert!(fault.hint().unwrap().contains("--encoding windows-1252"));

        // A sequence cut short at the end, behind a mark of three bytes.
        let (line, fault) = text(b"\xEF\xBB\xBFab\n\xE2\x82", None).unwrap_err();
        assert_eq!(line, Some(2));
        assert!(matches!(fault, TextFault::Invalid { byte: 0xE2, place: 7, assumed: false, .. }), "{fault:?}");
        // A lone low surrogate.
        let (_, fault) = text(b"\xFE\xFF\x00a\xDC\x00\x00b", None).unwrap_err();
        assert!(matches!(fault, TextFault::Invalid { byte: 0xDC, place: 5, .. }), "{fault:?}");
    }

    #[test]
    fn tells_empty_and_binary_files() {
        for bytes in [&b""[..], b"\xEF\xBB\xBF", b" \r\n\t\n", b"\xFF\xFE"] {
            assert_eq!(text(bytes, None), Err((None, TextFault::Empty)), "{bytes:?}");
        }
        for bytes in [&b"a\0b"[..], b"\x89PNG\0\xFF", b"\xFF\xFE\0\0a\0\0\0"] {
            assert_eq!(text(bytes, None), Err((None, TextFault::Binary)), "{bytes:?}");
        }
        assert_eq!(text(b"a\0", Some("windows-1252")), Err((None, TextFault::Binary)));
    }
}
