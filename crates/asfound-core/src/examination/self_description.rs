//! What a module says of itself by the identifiers of ISO 14229-1.

use crate::identity::Identity;
use crate::state::ModuleState;

/// Identifiers of ISO 14229-1 (table of udsoncan 1.26.1): spare part number, hardware number or its version, software version or the
/// supplier's, serial number.
const PART_NUMBER: &[u16] = &[0xF187];
const HARDWARE: &[u16] = &[0xF191, 0xF193];
const SOFTWARE: &[u16] = &[0xF189, 0xF195];
const SERIAL: &[u16] = &[0xF18C];

/// Whether a record says what the module is.
pub fn is_identity_record(record: u16) -> bool {
    [PART_NUMBER, HARDWARE, SOFTWARE, SERIAL].iter().any(|ids| ids.contains(&record))
}

/// The VIN's record.
pub const VIN_RECORD: u16 = 0xF190;

/// What a module is, by the records that `read` gives.
pub fn identity_by_records(read: impl Fn(u16) -> Option<Vec<u8>>) -> Identity {
    let first = |ids: &[u16]| ids.iter().find_map(|id| text_of_record(&read(*id)?));
    Identity {
        part_number: first(PART_NUMBER),
        hardware: first(HARDWARE),
        software: first(SOFTWARE),
        serial: first(SERIAL),
    }
}

/// Printable text without what fills it up; nothing where it is none.
pub fn text_of_record(bytes: &[u8]) -> Option<String> {
    let end = bytes.iter().rposition(|byte| !matches!(byte, 0x00 | 0x20 | 0xFF))?;
    let start = bytes.iter().position(|byte| *byte != 0x20)?;
    let bytes = bytes.get(start..=end)?;
    bytes.iter().all(|byte| (0x20..0x7F).contains(byte)).then(|| String::from_utf8_lossy(bytes).into_owned())
}

/// The same text but for letter case and signs between: a tester may write a part number otherwise than the module does.
pub fn alike(a: &str, b: &str) -> bool {
    let plain =
        |text: &str| text.chars().filter(char::is_ascii_alphanumeric).flat_map(char::to_uppercase).collect::<String>();
    plain(a) == plain(b)
}

/// The identity as it was read, in the words that the journal has for the same.
pub fn in_known_words(said: Identity, known: Option<&ModuleState>) -> Identity {
    let Some(known) = known.map(|known| &known.identity) else { return said };
    let word = |said: Option<String>, known: &Option<String>| match (said, known) {
        (Some(said), Some(known)) if alike(&said, known) => Some(known.clone()),
        (said, _) => said,
    };
    Identity {
        part_number: word(said.part_number, &known.part_number),
        hardware: word(said.hardware, &known.hardware),
        software: word(said.software, &known.software),
        serial: word(said.serial, &known.serial),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_printable_or_none() {
        assert_eq!(text_of_record(b"4107.BD.21  \0\0"), Some("4107.BD.21".to_owned()));
        assert_eq!(text_of_record(b"  H2\xFF"), Some("H2".to_owned()));
        for none in [&b"\x01\x02"[..], b"", b"   ", b"\0\0", b"a\x80b"] {
            assert_eq!(text_of_record(none), None, "{none:?}");
        }
        assert!(alike("4107 BD 21", "4107.bd.21") && !alike("4107.BD.21", "4107.BD.22"));
    }
}
