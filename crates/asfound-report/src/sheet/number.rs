//! A number for every sheet, made from all that it says.

use std::io;

use sha2::{Digest, Sha256};

use super::Sheet;

/// Digits and letters that are not mistaken for each other (the alphabet of Crockford's base 32).
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// The number of a sheet: the last entry that it tells of, and ten letters of the SHA-256 of everything on it. Two sheets that
/// say anything different, be it only the time of printing, have different numbers.
pub(super) fn number_of(sheet: &Sheet<'_>) -> String {
    let mut hashed = HashingWriter(Sha256::new());
    serde_json::to_writer(&mut hashed, sheet).expect("a sheet is made of texts, numbers and lists");
    let digest = hashed.0.finalize();
    let bits = digest[..8].iter().fold(0_u64, |bits, byte| bits << 8 | u64::from(*byte));
    let letters: String = (0..10)
        .map(|at| char::from(LETTERS[usize::try_from(bits >> (59 - 5 * at) & 31).unwrap_or_default()]))
        .collect();
    format!("{}-{}-{}", sheet.left.entry, &letters[..5], &letters[5..])
}

/// Takes everything in and keeps nothing.
struct HashingWriter(Sha256);

impl io::Write for HashingWriter {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.update(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
