//! Text as bytes of printable ASCII.

use super::{EncodeError, NoMeaning};

/// The text in whole bytes, without the pad bytes at its end.
pub(super) fn to_text(bytes: &[u8], pad: Option<u8>) -> Result<String, NoMeaning> {
    let behind = bytes.iter().rposition(|byte| Some(*byte) != pad).map_or(0, |last| last + 1);
    let text = &bytes[..behind];
    if text.iter().all(|byte| is_printable(*byte)) {
        Ok(text.iter().map(|byte| char::from(*byte)).collect())
    } else {
        Err(NoMeaning::NotText)
    }
}

/// The `most` bytes that are written for a text.
pub(super) fn to_bytes(text: &str, most: usize, pad: Option<u8>) -> Result<Vec<u8>, EncodeError> {
    let mut bytes = Vec::with_capacity(most);
    for character in text.chars() {
        let byte = u8::try_from(character).ok().filter(|byte| is_printable(*byte));
        bytes.push(byte.ok_or(EncodeError::Character(character))?);
    }
    let length = bytes.len();
    match pad {
        _ if length > most => return Err(EncodeError::Length { length, most, exact: pad.is_none() }),
        None if length < most => return Err(EncodeError::Length { length, most, exact: true }),
        Some(pad) if bytes.last() == Some(&pad) => return Err(EncodeError::EndsWithPad { pad }),
        Some(pad) => bytes.resize(most, pad),
        None => {}
    }
    Ok(bytes)
}

fn is_printable(byte: u8) -> bool {
    (0x20..=0x7E).contains(&byte)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fills_the_end_and_takes_the_filling_away() {
        for (text, pad, bytes) in [
            ("AB", Some(0x00), b"AB\0\0"),
            ("AB", Some(0x20), b"AB  "),
            ("A", Some(0xFF), b"A\xFF\xFF\xFF"),
            ("", Some(0x00), b"\0\0\0\0"),
            (" B", Some(0x20), b" B  "),
            ("AB  ", None, b"AB  "),
        ] {
            assert_eq!(to_bytes(text, 4, pad), Ok(bytes.to_vec()), "{text:?}");
            assert_eq!(to_text(bytes, pad), Ok(text.to_owned()), "{text:?}");
        }
    }

    #[test]
    fn has_no_text_where_it_would_not_come_back() {
        for (bytes, pad) in
            [(b"A\0B\0", Some(0)), (b"AB\0\0", None), (b"AB\x7F\x7F", Some(0)), (b"\xFFA\xFF\xFF", Some(0xFF))]
        {
            assert_eq!(to_text(bytes, pad), Err(NoMeaning::NotText), "{bytes:?}");
        }
        assert_eq!(to_bytes("AB ", 4, Some(0x20)), Err(EncodeError::EndsWithPad { pad: 0x20 }));
        assert_eq!(to_bytes("ABCDE", 4, Some(0)), Err(EncodeError::Length { length: 5, most: 4, exact: false }));
        assert_eq!(to_bytes("ABC", 4, None), Err(EncodeError::Length { length: 3, most: 4, exact: true }));
        assert_eq!(to_bytes("Ä", 4, Some(0)), Err(EncodeError::Character('Ä')));
        assert_eq!(to_bytes("A\n", 4, Some(0)), Err(EncodeError::Character('\n')));
    }
}
