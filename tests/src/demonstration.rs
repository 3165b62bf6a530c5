//! Plays the demonstration.

use std::ffi::OsString;

use asfound::{Environment, Zone};
use time::UtcOffset;
use time::macros::datetime;

/// Everything that `asfound demo` prints, in a folder of its own and at 80 columns.
///
/// # Panics
/// When the demonstration does not end well.
pub fn demonstration() -> String {
    let place = tempfile::tempdir().expect("a temporary folder can be made");
    let folder = place.path().join("story");
    let environment = Environment {
        garage: None,
        state: None,
        author: None,
        account: None,
        agent: None,
        key_passphrase: None,
        locale: None,
        now: datetime!(2026-01-01 12:00 UTC),
        zone: Zone::Fixed(UtcOffset::UTC),
        width: 80,
        colour: false,
        colour_of_errors: false,
        interactive: false,
    };
    let arguments = ["asfound".into(), "demo".into(), "--in".into(), folder.into_os_string()];
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let exit = asfound::run(arguments.into_iter().collect::<Vec<OsString>>(), Some(environment), &mut out, &mut err);
    let (out, err) = (String::from_utf8_lossy(&out).into_owned(), String::from_utf8_lossy(&err).into_owned());
    assert_eq!((exit, err.as_str()), (asfound::Exit::Done, ""));
    out
}
