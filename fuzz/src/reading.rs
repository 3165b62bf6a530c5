//! The project's own reading file.

use asfound_capture::file::parse_reading;
use asfound_capture::merge::merge;

use crate::messages;

/// A reading file in TOML or JSON.
pub fn reading(data: &[u8]) {
    let reading = match parse_reading(data) {
        Ok(reading) => reading,
        Err(problems) => {
            assert!(problems.has_errors(), "refused without an error");
            messages::problems(&problems);
            return;
        }
    };
    for module in reading.modules.values() {
        assert!(module.records.values().all(|bytes| !bytes.is_empty()), "a record without bytes");
        let identity = [&module.identity.part_number, &module.identity.hardware];
        let identity = identity.into_iter().chain([&module.identity.software, &module.identity.serial]).flatten();
        module.settings.values().chain(identity).for_each(|text| one_line(text));
    }
    reading.by.iter().chain(&reading.tool).for_each(|text| one_line(text));
    // Said twice is said once.
    let mut twice = reading.clone();
    merge(&mut twice, reading.clone()).expect("a reading agrees with itself");
    assert_eq!(twice, reading);
}

/// A text that is shown later on.
fn one_line(text: &str) {
    assert!(
        !text.is_empty() && text.trim() == text && !text.contains(messages::breaks_the_line),
        "{text:?} was accepted"
    );
}
