//! Column mappings on one line.

use asfound_capture::table::{ColumnKey, ColumnMapping, Separator, TableEncoding, module_name_of, setting_name_of};

use crate::messages::harmless;

/// A column mapping, as a command line gives it; the same text as a separator, an encoding and a label.
pub fn column_mapping(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    match text.parse::<ColumnMapping>() {
        Ok(mapping) => {
            let shown = mapping.to_string();
            assert_eq!(shown.parse().as_ref(), Ok(&mapping), "{shown:?}");
            assert!(mapping.iter().all(|(key, place)| mapping.place(key) == Some(place)));
        }
        Err(error) => {
            harmless(&error);
            harmless(error.hint());
        }
    }
    if let Ok(separator) = text.parse::<Separator>() {
        assert_eq!(separator.to_string().parse(), Ok(separator));
    }
    if let Ok(encoding) = text.parse::<TableEncoding>() {
        assert_eq!(encoding.to_string().parse(), Ok(encoding));
    }
    if let Ok(key) = text.parse::<ColumnKey>() {
        assert_eq!(key.to_string().parse(), Ok(key));
    }
    // A name that was made of a text is a name, and is not made into another one.
    if let Some(name) = module_name_of(text) {
        assert_eq!(module_name_of(name.as_str()), Some(name));
    }
    if let Some(name) = setting_name_of(text) {
        assert_eq!(setting_name_of(name.as_str()), Some(name));
    }
}
