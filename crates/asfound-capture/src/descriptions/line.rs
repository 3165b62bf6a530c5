//! One code with its description, from whatever file.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use asfound_core::trouble_code::TroubleCode;

/// The longest description, in characters.
const LONGEST: usize = 500;

/// Takes a description in.
///
/// # Errors
/// What is wrong with code or description, or that the code was described already and otherwise.
pub(super) fn take(into: &mut BTreeMap<TroubleCode, String>, code: &str, text: &str) -> Result<(), String> {
    let code: TroubleCode = code.trim().parse().map_err(|error| format!("{error}"))?;
    let text = text.trim();
    if text.is_empty() {
        return Err(format!("{code} has no description"));
    }
    if text.contains(char::is_control) {
        return Err(format!("the description of {code} holds control characters"));
    }
    if text.chars().count() > LONGEST {
        return Err(format!("the description of {code} is longer than {LONGEST} characters"));
    }
    match into.entry(code) {
        Entry::Occupied(earlier) if earlier.get() != text => {
            Err(format!("{} is described twice: `{}` and `{text}`", earlier.key(), earlier.get()))
        }
        Entry::Occupied(_) => Ok(()),
        Entry::Vacant(place) => {
            place.insert(text.to_owned());
            Ok(())
        }
    }
}
