//! What the journal writes in words of its own, in a language of print: places, reasons that nobody gave, status bits.

use asfound_core::difference::Content;
use asfound_core::entry::PlainReason;
use asfound_core::history::Field;
use asfound_core::trouble_code::CodeStatus;

use super::Language;
use crate::shown::shown;

/// In plain words, those bits of a status byte (ISO 14229-1; the standard's own names are in [`CodeStatus::NAMES`]) that say how
/// a code stands: testFailed, pendingDTC, confirmedDTC, testNotCompletedSinceLastClear, warningIndicatorRequested. What else it
/// says, the byte itself says.
const STATUS: [(u8, &str, &str); 5] = [
    (0, "test fails", "Prüfung nicht bestanden"),
    (2, "pending", "vorläufig"),
    (3, "confirmed", "bestätigt"),
    (4, "not tested since cleared", "seit dem Löschen nicht geprüft"),
    (7, "warning lamp", "Warnlampe"),
];

impl Language {
    /// A field as the journal writes it; of bits without a name, the words between the numbers in this language.
    pub(crate) fn field(self, field: &str) -> String {
        let field = shown(field);
        let field = field.strip_suffix(" (undeclared)").unwrap_or(&field);
        if field.contains(':') { self.place(field) } else { field.to_owned() }
    }

    /// A field with what became of it: of bits without a name which ones, and what they held and hold.
    pub(crate) fn altered(self, field: &Field, found: Option<&Content>, left: Option<&Content>) -> String {
        self.field(&field.altered(found, left))
    }

    /// Bits and bytes by their places, `byte 0 bits 4-7`, and what became of them.
    pub(crate) fn place(self, place: &str) -> String {
        if self == Self::En {
            return place.to_owned();
        }
        let words = place.split(' ').map(|word| match word {
            "byte" => "Byte",
            "bytes" => "Bytes",
            "to" => "auf",
            "and" => "und",
            "more" => "weitere",
            "bit" => "Bit",
            "bits" => "Bits",
            other => other,
        });
        words.collect::<Vec<_>>().join(" ")
    }

    /// A reason: people's own words as they are, the program's own in this language.
    pub(crate) fn reason(self, why: &str, plain: Option<&PlainReason>) -> String {
        let text = match (self, plain) {
            (Self::En, _) | (_, None) => why.to_owned(),
            (Self::De, Some(plain)) => match plain {
                PlainReason::Started => "Journal begonnen".to_owned(),
                PlainReason::Typed => "von Hand eingegebene Werte".to_owned(),
                PlainReason::FromFiles(files) => format!("aus {files}"),
                PlainReason::OrderOpened(number) => format!("Auftrag {number}"),
                PlainReason::OrderExtended(number) => format!("weitere Arbeit zu Auftrag {number}"),
                PlainReason::OrderClosed(number) => format!("Auftrag {number} erledigt"),
            },
        };
        shown(&text)
    }

    /// A status byte in words, with the byte itself.
    pub(crate) fn status(self, status: CodeStatus) -> String {
        let set = STATUS.iter().filter(|(bit, ..)| status.0 >> bit & 1 == 1);
        let words: Vec<&str> = set.map(|(_, en, de)| if self == Self::En { *en } else { *de }).collect();
        if words.is_empty() { status.to_string() } else { format!("{} ({status})", words.join(", ")) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_keep_their_numbers() {
        assert_eq!(Language::De.field("body:0D01 byte 0 bits 4-7 (undeclared)"), "body:0D01 Byte 0 Bits 4-7");
        assert_eq!(Language::En.field("body:0D01 byte 0 bits 4-7 (undeclared)"), "body:0D01 byte 0 bits 4-7");
        assert_eq!(Language::De.field("body.byte_order"), "body.byte_order");
        assert_eq!(Language::De.field("body:0D01 byte 3 bit 2: 0 to 1"), "body:0D01 Byte 3 Bit 2: 0 auf 1");
    }

    #[test]
    fn a_status_is_said_in_words() {
        assert_eq!(Language::En.status(CodeStatus(0x09)), "test fails, confirmed (09)");
        assert_eq!(Language::De.status(CodeStatus(0x80)), "Warnlampe (80)");
        assert_eq!(Language::De.status(CodeStatus(0)), "00");
    }
}
