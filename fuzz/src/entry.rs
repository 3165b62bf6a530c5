//! `entry.toml`.

use asfound_core::entry::Vehicle;
use asfound_core::state::State;
use asfound_journal::entry_files::{EntryFile, Salt, VehicleFile};

/// The vehicle of an enrolment, whose own file says more than the entry does.
const VEHICLE: &str = "\
format = \"asfound-vehicle/1\"
tag = \"wren\"
enrolled = \"2026-03-14T09:20:00+01:00\"
salt = \"00112233445566778899aabbccddeeff\"
";

/// The text of an `entry.toml`.
pub fn entry(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let file = match EntryFile::parse(text) {
        Ok(file) => file,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return;
        }
    };
    assert_eq!(EntryFile::parse(&file.to_text()).as_ref(), Ok(&file));
    let chain = file.chain().clone();
    if let Ok(next) = chain.after(b"data of a leaf") {
        assert_eq!(Some(next.entries), chain.entries.checked_add(1));
    }
    let Ok(entry) = file.into_entry(|| Some(vehicle())) else { return };
    // The entry alone makes the same file, but for its salt.
    let again = EntryFile::parse(&EntryFile::new(&entry, Salt::from([0; 16]), chain).to_text());
    assert_eq!(again.and_then(|again| again.into_entry(|| Some(vehicle()))).as_ref(), Ok(&entry));
    if let Err(error) = State::fold([&entry]) {
        assert!(!error.to_string().is_empty());
    }
}

fn vehicle() -> Vehicle {
    VehicleFile::parse(VEHICLE).expect("the file is sound").into_vehicle()
}
