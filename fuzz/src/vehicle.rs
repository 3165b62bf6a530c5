//! `vehicle.toml`.

use asfound_journal::entry_files::VehicleFile;

/// The text of a `vehicle.toml`.
pub fn vehicle(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    match VehicleFile::parse(text) {
        Ok(file) => assert_eq!(VehicleFile::parse(&file.to_text()), Ok(file)),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}
