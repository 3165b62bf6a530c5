//! Column mappings that are kept in a file.

use asfound_capture::table::SavedColumns;

use crate::messages::harmless;

/// The text of a kept column mapping.
pub fn saved_columns(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    match SavedColumns::from_toml(text) {
        Ok(saved) => assert_eq!(SavedColumns::from_toml(&saved.to_toml()), Ok(saved)),
        Err(error) => harmless(error),
    }
}
