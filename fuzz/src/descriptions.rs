//! Tables that say what trouble codes mean.

use asfound_capture::descriptions::DescriptionTable;
use asfound_core::trouble_code::TroubleCode;

/// Reads a table in both forms. What it says of a code is found again by the code's text, and a code with a failure type
/// that it does not have by its first two bytes.
pub fn descriptions(data: &[u8]) {
    for toml in [true, false] {
        let table = match DescriptionTable::parse(data, toml) {
            Ok(table) => table,
            Err(error) => {
                assert!(!error.to_string().is_empty());
                continue;
            }
        };
        assert!(!table.descriptions.is_empty(), "a table without a code is refused");
        for (code, text) in &table.descriptions {
            assert!(!text.trim().is_empty() && !text.contains(char::is_control));
            let again: TroubleCode = code.to_string().parse().expect("a code is read back from its text");
            assert_eq!(table.find(&again), Some(text.as_str()));
            if let TroubleCode::Two(base) = code {
                assert!(table.find(&TroubleCode::Three(*base, 0x11)).is_some());
            }
        }
    }
}
