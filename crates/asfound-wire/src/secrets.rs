//! Seeds and keys, which are never kept.
//!
//! `27` and `67` (security access, ISO 14229-1 and ISO 14230-3) carry seed or key after the level. `29` and `69`
//! (authentication, ISO 14229-1:2020) carry certificates, challenges and proofs. Whatever comes after their
//! second byte is set to zero before anything leaves this crate.

/// How many bytes of a payload that begins with `service` may be shown; `None` for all.
pub(crate) const fn shown(service: u8) -> Option<usize> {
    match service {
        0x27 | 0x67 | 0x29 | 0x69 => Some(2),
        _ => None,
    }
}

/// Blanks seeds and keys in a payload; says whether there was anything to blank.
pub fn blank(payload: &mut [u8]) -> bool {
    let Some(shown) = payload.first().and_then(|service| shown(*service)) else { return false };
    let Some(secret) = payload.get_mut(shown..).filter(|secret| !secret.is_empty()) else { return false };
    secret.fill(0);
    true
}
