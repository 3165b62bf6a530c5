//! The hashes of RFC 9162, section 2.1.1.

use crate::Digest;

/// The hash of a leaf: SHA-256 of a zero byte and the data.
///
/// The leading byte tells leaves from nodes, so that no list of entries can be
/// passed off as one entry.
pub fn leaf(data: &[u8]) -> Digest {
    Digest::of_parts(&[&[0], data])
}

/// The hash of a node: SHA-256 of a one byte, the left hash and the right hash.
pub fn node(left: &Digest, right: &Digest) -> Digest {
    Digest::of_parts(&[&[1], left.as_bytes(), right.as_bytes()])
}

/// The root over leaves whose hashes are given, in order.
///
/// The root of an empty list is the digest of nothing. Follows the definition in the
/// standard word by word; [`Peaks`](super::Peaks) is the quick way for a growing list.
pub fn root_of(leaves: &[Digest]) -> Digest {
    match leaves {
        [] => Digest::of(&[]),
        [only] => *only,
        _ => {
            let (left, right) = leaves.split_at(split(leaves.len()));
            node(&root_of(left), &root_of(right))
        }
    }
}

/// The largest power of two smaller than the number of leaves, of which there are at least two.
pub(super) fn split(leaves: usize) -> usize {
    1 << (leaves - 1).ilog2()
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// The eight test leaves of the public certificate-transparency implementations.
    pub(in crate::merkle) fn test_leaves() -> Vec<Digest> {
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
        leaves.map(leaf).to_vec()
    }

    /// How the roots over the first n test leaves begin in those implementations.
    pub(in crate::merkle) const TEST_ROOTS: [(usize, &str); 5] =
        [(1, "6e340b9c"), (2, "fac54203"), (3, "aeb6bcfe"), (5, "4e3bbb1f"), (8, "5dc9da79")];

    /// Digests as they are published.
    pub(in crate::merkle) fn published(digests: &[&str]) -> Vec<Digest> {
        digests.iter().map(|digest| digest.parse().unwrap()).collect()
    }

    /// The roots over the first 1 to 8 test leaves, from the test vectors of the public certificate-transparency library
    /// transparency-dev/merkle (`proof/verify_test.go`).
    pub(in crate::merkle) fn published_roots() -> Vec<Digest> {
        published(&[
            "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
            "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
            "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
            "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
            "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
            "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
            "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
        ])
    }

    /// The digest with each of its bytes altered in turn.
    pub(in crate::merkle) fn flips(digest: &Digest) -> Vec<Digest> {
        let flipped = |at: usize| {
            let mut bytes = *digest.as_bytes();
            bytes[at] ^= 1 << (at % 8);
            Digest::from(bytes)
        };
        (0..32).map(flipped).collect()
    }

    #[test]
    fn roots_agree_with_the_public_test_leaves() {
        let leaves = test_leaves();
        for (size, root) in (1..).zip(published_roots()) {
            assert_eq!(root_of(&leaves[..size]), root, "{size} leaves");
        }
        for (size, start) in TEST_ROOTS {
            assert!(published_roots()[size - 1].to_string().starts_with(start), "{size} leaves");
        }
    }

    /// RFC 9162, section 2.1.1: the hash of an empty list is the hash of an empty string.
    #[test]
    fn the_empty_tree_has_the_digest_of_nothing() {
        assert_eq!(root_of(&[]).to_string(), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    }

    /// The seven-leaf example of RFC 6962, section 2.1.3, with its names for the nodes.
    #[test]
    #[allow(clippy::many_single_char_names, reason = "the standard's names")]
    fn seven_leaves_have_the_shape_that_the_standard_draws() {
        let d: Vec<Digest> = (0..7u8).map(|n| leaf(&[b'd', n])).collect();
        let [g, h, i] = [0, 2, 4].map(|at| node(&d[at], &d[at + 1]));
        let k = node(&g, &h);
        assert_eq!(root_of(&d), node(&k, &node(&i, &d[6])));
        // "The same tree, built incrementally in four steps": hash0, hash1 and hash2.
        assert_eq!(root_of(&d[..3]), node(&g, &d[2]));
        assert_eq!(root_of(&d[..4]), k);
        assert_eq!(root_of(&d[..6]), node(&k, &i));
    }
}
