//! Proofs that a tree was only appended to: RFC 9162, section 2.1.4 (RFC 6962, section 2.1.2).

use super::hash::{node, root_of, split};
use crate::Digest;

/// The hashes that show that the tree over `leaves` begins with the tree over the first `earlier` of them.
///
/// Follows the definition of PROOF and SUBPROOF in section 2.1.4.1 word by word. Empty where `earlier` is all
/// of them; nothing where `earlier` is 0 or more than there are.
pub fn consistency_path(leaves: &[Digest], earlier: usize) -> Option<Vec<Digest>> {
    if earlier == 0 || earlier > leaves.len() { None } else { Some(subproof(leaves, earlier, true)) }
}

/// `known`: whether the root over these very leaves is the earlier root, which whoever checks has already.
fn subproof(leaves: &[Digest], earlier: usize, known: bool) -> Vec<Digest> {
    if earlier == leaves.len() {
        return if known { Vec::new() } else { vec![root_of(leaves)] };
    }
    let (left, right) = leaves.split_at(split(leaves.len()));
    let (mut path, other) = match earlier.checked_sub(left.len()) {
        None | Some(0) => (subproof(left, earlier, known), root_of(right)),
        Some(rest) => (subproof(right, rest, false), root_of(left)),
    };
    path.push(other);
    path
}

/// Whether `path` shows that the tree of `later` (its size and its root) begins with the tree of `earlier`: the procedure
/// of section 2.1.4.2.
///
/// As with inclusion, a root does not state its tree's size, so that sizes and roots must be known together.
pub fn extends(earlier: (u64, &Digest), later: (u64, &Digest), path: &[Digest]) -> bool {
    let ((earlier_size, earlier_root), (later_size, later_root)) = (earlier, later);
    if earlier_size == 0 || earlier_size > later_size {
        return false;
    }
    if earlier_size == later_size {
        return path.is_empty() && earlier_root == later_root;
    }
    let (mut at, mut end) = (earlier_size - 1, later_size - 1);
    let shift = at.trailing_ones();
    (at, end) = (at >> shift, end >> shift);
    // A perfect earlier tree is a node of the later one, and its root is left out of the path.
    let (start, rest) = match path {
        _ if earlier_size.is_power_of_two() => (earlier_root, path),
        [start, rest @ ..] => (start, rest),
        [] => return false,
    };
    if rest.is_empty() {
        // A proof of an extension holds at least one hash of what was added.
        return false;
    }
    let (mut first, mut second) = (*start, *start);
    for other in rest {
        if end == 0 {
            return false;
        }
        if at & 1 == 1 || at == end {
            (first, second) = (node(other, &first), node(other, &second));
            while at & 1 == 0 && at != 0 {
                (at, end) = (at >> 1, end >> 1);
            }
        } else {
            second = node(&second, other);
        }
        (at, end) = (at >> 1, end >> 1);
    }
    end == 0 && first == *earlier_root && second == *later_root
}

#[cfg(test)]
mod tests {
    use ct_merkle::mem_backed_tree::MemoryBackedTree;
    use proptest::prelude::*;
    use sha2::Sha256;

    use super::super::hash::tests::{flips, published, published_roots, test_leaves};
    use super::super::leaf;
    use super::*;

    /// The test vectors of the public certificate-transparency library transparency-dev/merkle
    /// (`proof/verify_test.go`), for the eight test leaves.
    #[test]
    fn paths_are_those_that_are_published() {
        let leaves = test_leaves();
        let cases: [(usize, usize, &[&str]); 5] = [
            (1, 1, &[]),
            (
                1,
                8,
                &[
                    "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
                    "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
                    "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
                ],
            ),
            (
                6,
                8,
                &[
                    "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
                    "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
                    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
                ],
            ),
            (
                2,
                5,
                &[
                    "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
                    "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
                ],
            ),
            (
                6,
                7,
                &[
                    "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
                    "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f",
                    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
                ],
            ),
        ];
        let roots = published_roots();
        for (earlier, later, path) in cases {
            let path = published(path);
            assert_eq!(consistency_path(&leaves[..later], earlier).as_ref(), Some(&path), "{earlier} to {later}");
            let seal = |size: usize| (size as u64, &roots[size - 1]);
            assert!(extends(seal(earlier), seal(later), &path));
        }
    }

    #[test]
    fn every_pair_of_sizes_up_to_eight_is_proven_and_nothing_else() {
        let leaves = test_leaves();
        for later in 1..=8usize {
            for earlier in 1..=later {
                let [first, second] = [earlier, later].map(|size| root_of(&leaves[..size]));
                let path = consistency_path(&leaves[..later], earlier).unwrap();
                let holds = |earlier: usize, first: &Digest, later: usize, second: &Digest, path: &[Digest]| {
                    extends((earlier as u64, first), (later as u64, second), path)
                };
                assert!(holds(earlier, &first, later, &second, &path), "{earlier} to {later}");
                for wrong in flips(&first) {
                    assert!(!holds(earlier, &wrong, later, &second, &path));
                }
                for wrong in flips(&second) {
                    assert!(!holds(earlier, &first, later, &wrong, &path));
                }
                assert!(earlier == later || !holds(earlier, &second, later, &first, &path));
                // The earlier size settles which hashes of the path make the earlier root.
                for other in (0..20).filter(|other| *other != earlier && earlier != later) {
                    assert!(!holds(other, &first, later, &second, &path), "{earlier} as {other} to {later}");
                }
                for at in 0..path.len() {
                    for wrong in flips(&path[at]) {
                        let mut path = path.clone();
                        path[at] = wrong;
                        assert!(!holds(earlier, &first, later, &second, &path), "{earlier} to {later}");
                    }
                    let mut shorter = path.clone();
                    shorter.remove(at);
                    assert!(!holds(earlier, &first, later, &second, &shorter));
                }
                for at in 0..=path.len() {
                    for other in [first, second] {
                        let mut longer = path.clone();
                        longer.insert(at, other);
                        assert!(!holds(earlier, &first, later, &second, &longer), "{earlier} to {later}");
                    }
                }
                assert!(!holds(later, &second, earlier, &first, &path) || earlier == later);
                for other in [later * 2, later / 2] {
                    assert!(!holds(earlier, &first, other, &second, &path), "{earlier} to {later} as {other}");
                }
            }
            assert_eq!(consistency_path(&leaves[..later], 0), None);
            assert_eq!(consistency_path(&leaves[..later], later + 1), None);
        }
    }

    /// A leaf that is altered, left out or put in among the earlier ones leaves no way from the one root to the other.
    #[test]
    fn a_rewritten_list_is_no_extension() {
        let leaves: Vec<Digest> = (0..9u8).map(|n| leaf(&[n])).collect();
        for earlier in 1..=8usize {
            let kept = root_of(&leaves[..earlier]);
            for at in 0..earlier {
                let mut altered = leaves.clone();
                altered[at] = leaf(b"altered");
                let mut without = leaves.clone();
                without.remove(at);
                let mut with = leaves.clone();
                with.insert(at, leaf(b"put in"));
                for list in [altered, without, with] {
                    if let Some(path) = consistency_path(&list, earlier) {
                        let now = root_of(&list);
                        assert!(!extends((earlier as u64, &kept), (list.len() as u64, &now), &path));
                    }
                }
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        /// Against the crate ct-merkle 0.3.
        #[test]
        fn another_implementation_makes_the_same_paths(later in 2usize..=1000, at in any::<prop::sample::Index>()) {
            let earlier = 1 + at.index(later - 1);
            let mut theirs = MemoryBackedTree::<Sha256, Vec<u8>>::new();
            let mut leaves = Vec::new();
            for n in 0..later {
                let data = n.to_be_bytes().to_vec();
                leaves.push(leaf(&data));
                theirs.push(data);
            }
            let path = consistency_path(&leaves, earlier).unwrap();
            let bytes: Vec<u8> = path.iter().flat_map(|digest| *digest.as_bytes()).collect();
            let proof = theirs.prove_consistency(later - earlier);
            prop_assert_eq!(proof.as_bytes(), bytes.as_slice());
            let root = theirs.root();
            let root = Digest::from(<[u8; 32]>::try_from(root.as_bytes().as_slice()).unwrap());
            prop_assert!(extends((earlier as u64, &root_of(&leaves[..earlier])), (later as u64, &root), &path));
        }
    }
}
