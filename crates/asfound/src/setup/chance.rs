//! Chance.

use asfound_journal::journal::EntryRandomness;

use crate::failure::Failure;

/// Random bits for one entry.
///
/// # Errors
/// When the system has none.
pub fn chance() -> Result<EntryRandomness, Failure> {
    let mut chance = EntryRandomness { entry: [0; 16], vehicle: [0; 16], blind: [0; 32] };
    for bits in [chance.entry.as_mut_slice(), &mut chance.vehicle, &mut chance.blind] {
        getrandom::fill(bits).map_err(|error| Failure::damaged(format!("the system gives no random bits: {error}")))?;
    }
    Ok(chance)
}
