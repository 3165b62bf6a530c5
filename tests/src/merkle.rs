//! The root of a Merkle tree, by the definition in RFC 9162, section 2.1.1.
//!
//! Written from the definition, by recursion, and so unlike the program's own way of keeping the roots of perfect
//! subtrees; only the hash function is shared.

use sha2::{Digest, Sha256};

/// The root over `leaves`, in lower-case hexadecimal.
pub fn root(leaves: &[&[u8]]) -> String {
    let mut text = String::new();
    for byte in head(leaves) {
        text.push_str(&format!("{byte:02x}"));
    }
    text
}

/// MTH(D[n]).
fn head(leaves: &[&[u8]]) -> [u8; 32] {
    match leaves {
        [] => Sha256::digest([]).into(),
        [leaf] => Sha256::new().chain_update([0]).chain_update(leaf).finalize().into(),
        _ => {
            // The largest power of two smaller than n.
            let split = leaves.len().next_power_of_two() / 2;
            let (left, right) = (head(&leaves[..split]), head(&leaves[split..]));
            Sha256::new().chain_update([1]).chain_update(left).chain_update(right).finalize().into()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The eight leaves that the public certificate-transparency implementations test with, and the first eight digits
    /// of the roots over the first 0, 1, 2, 3, 5 and 8 of them.
    #[test]
    fn agrees_with_the_published_vectors() {
        let leaves: [&[u8]; 8] = [
            b"",
            b"\x00",
            b"\x10",
            b"\x20\x21",
            b"\x30\x31",
            b"\x40\x41\x42\x43",
            b"\x50\x51\x52\x53\x54\x55\x56\x57",
            b"\x60\x61\x62\x63\x64\x65\x66\x67\x68\x69\x6a\x6b\x6c\x6d\x6e\x6f",
        ];
        let begins =
            [(0, "e3b0c442"), (1, "6e340b9c"), (2, "fac54203"), (3, "aeb6bcfe"), (5, "4e3bbb1f"), (8, "5dc9da79")];
        for (size, digits) in begins {
            assert!(root(&leaves[..size]).starts_with(digits), "{size}");
        }
    }
}
