//! Bytes of a file, as text.

use super::place::PositionIndex;
use super::{Problem, TextPosition};

/// The bytes of a file as text. A byte-order mark of UTF-8 is left out.
///
/// The problem says in plain words that a file is empty, is no text at all, or where its first byte is that is not
/// UTF-8.
pub fn decode_utf8(bytes: &[u8]) -> Result<&str, Problem> {
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return Err(Problem::error(None, "", "the file is UTF-16 text, only UTF-8 is read")
            .with_hint("save it as UTF-8 and try again"));
    }
    let bytes = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes);
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(Problem::error(None, "", "the file is empty"));
    }
    if let Some(at) = bytes.iter().position(|byte| *byte == 0) {
        return Err(Problem::error(None, "", format!("the file is binary, not text: its byte {} is zero", at + 1)));
    }
    std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let before = std::str::from_utf8(&bytes[..at]).unwrap_or_default();
        let place: TextPosition = PositionIndex::new(before).place(at);
        let message = format!("byte {:02X} is not UTF-8 text (byte {} of the file)", bytes[at], at + 1);
        Problem::error(Some(place), "", message).with_hint("save the file as UTF-8 and try again")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_a_file_is_that_is_no_text() {
        let said = |bytes: &[u8]| decode_utf8(bytes).unwrap_err().to_string();
        assert_eq!(said(b""), "the file is empty");
        assert_eq!(said(b"\xEF\xBB\xBF \r\n"), "the file is empty");
        assert_eq!(said(b"PK\x03\x00"), "the file is binary, not text: its byte 4 is zero");
        assert_eq!(said(b"\xFF\xFEa\0"), "the file is UTF-16 text, only UTF-8 is read");
        assert_eq!(
            said(b"a = 1\nb = \"\xC3\xA4\xE4\"\n"),
            "line 2, column 7: byte E4 is not UTF-8 text (byte 14 of the file)"
        );
    }

    #[test]
    fn leaves_out_the_byte_order_mark() {
        assert_eq!(decode_utf8(b"\xEF\xBB\xBFa"), Ok("a"));
        assert_eq!(decode_utf8("ä".as_bytes()), Ok("ä"));
    }
}
