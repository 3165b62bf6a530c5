//! Whether settings, checksums and bytes that change by themselves keep apart.

use crate::document::Collector;
use crate::value::BitMask;

use super::record::RecordDraft;
use super::setting::SettingDraft;

/// The most other settings that are named for one setting; comparing more would take very long in a hostile file.
const MOST_NAMED: usize = 4;

pub(super) fn check(records: &[RecordDraft], settings: &[SettingDraft], collector: &Collector) {
    for (index, setting) in settings.iter().enumerate() {
        let (Some(number), Some(placement)) = (setting.record, setting.placement) else { continue };
        let record = &records[number];
        let error = |message: String| collector.error(setting.place, &setting.at, message);
        let Some(length) = record.length else { continue };
        if placement.end() > length {
            error(format!(
                "the setting ends at byte {}, but the record {} has {length} bytes, 0 to {}",
                placement.end() - 1,
                record.written,
                length - 1
            ));
        }
        let mask = placement.mask(length);
        let mut named = 0;
        for other in &settings[..index] {
            let Some(theirs) = other.placement.filter(|_| other.record == Some(number)) else { continue };
            if theirs.end() <= placement.byte() || placement.end() <= theirs.byte() {
                continue;
            }
            let shared = mask.common(&theirs.mask(length));
            if shared.is_empty() {
                continue;
            }
            if named == MOST_NAMED {
                error("the setting shares bits with still more settings".to_owned());
                break;
            }
            named += 1;
            error(format!("the setting shares bits with {}: {}", other.at, describe(&shared)));
        }
        if let Some(checksum) = &record.checksum {
            let shared = mask.common(&checksum.mask(length));
            if !shared.is_empty() {
                error(format!("the setting lies on the checksum of record {}: {}", record.written, describe(&shared)));
            }
        }
        if let Some(volatile) = &record.volatile {
            let shared = mask.common(volatile);
            if !shared.is_empty() {
                let written = &record.written;
                error(format!(
                    "the setting lies on bytes of record {written} that are volatile: {}",
                    describe(&shared)
                ));
            }
        }
    }
}

/// Bits in words: `byte 0, bits 1 to 2; bytes 3 to 4`.
fn describe(mask: &BitMask) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut at = 0;
    while at < mask.len() {
        match mask.byte(at) {
            0 => at += 1,
            0xFF => {
                let behind = (at..mask.len()).find(|byte| mask.byte(*byte) != 0xFF).unwrap_or(mask.len());
                parts.push(span("byte", at, behind - 1));
                at = behind;
            }
            bits => {
                parts.push(format!("byte {at}, {}", runs(bits).join(", ")));
                at += 1;
            }
        }
    }
    parts.join("; ")
}

/// The runs of bits in one byte: `bit 0`, `bits 2 to 4`.
fn runs(bits: u8) -> Vec<String> {
    let mut runs = Vec::new();
    let mut bit = 0;
    while bit < 8 {
        if bits >> bit & 1 == 0 {
            bit += 1;
            continue;
        }
        let behind = (bit..8).find(|bit| bits >> bit & 1 == 0).unwrap_or(8);
        runs.push(span("bit", bit, behind - 1));
        bit = behind;
    }
    runs
}

fn span(what: &str, first: usize, last: usize) -> String {
    if first == last { format!("{what} {first}") } else { format!("{what}s {first} to {last}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bits_are_described_in_words() {
        let mut mask = BitMask::none(6);
        for (byte, bits) in [(0, 0b0011_1010), (2, 0xFF), (3, 0xFF), (5, 0x80)] {
            mask.insert(byte, bits);
        }
        assert_eq!(describe(&mask), "byte 0, bit 1, bits 3 to 5; bytes 2 to 3; byte 5, bit 7");
    }
}
