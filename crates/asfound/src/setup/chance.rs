//! Chance.

use crate::failure::Failure;

/// Random bits for the two salts of an entry.
///
/// # Errors
/// When the system has none.
pub fn salts() -> Result<[[u8; 16]; 2], Failure> {
    let mut salts = [[0; 16]; 2];
    for salt in &mut salts {
        getrandom::fill(salt).map_err(|error| Failure::damaged(format!("the system gives no random bits: {error}")))?;
    }
    Ok(salts)
}
