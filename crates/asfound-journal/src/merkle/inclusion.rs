//! Proofs that a leaf belongs to a tree: RFC 9162, section 2.1.3 (RFC 6962, section 2.1.1).

use super::hash::{node, root_of, split};
use crate::Digest;

/// The hashes that lead from the leaf at `index` (from 0) to the root over `leaves`, lowest first.
///
/// Follows the definition of PATH in section 2.1.3.1 word by word. Nothing where there is no such leaf.
pub fn inclusion_path(leaves: &[Digest], index: usize) -> Option<Vec<Digest>> {
    if index >= leaves.len() {
        return None;
    }
    if leaves.len() == 1 {
        return Some(Vec::new());
    }
    let (left, right) = leaves.split_at(split(leaves.len()));
    let (mut path, other) = match index.checked_sub(left.len()) {
        None => (inclusion_path(left, index)?, root_of(right)),
        Some(index) => (inclusion_path(right, index)?, root_of(left)),
    };
    path.push(other);
    Some(path)
}

/// Whether `path` leads from the leaf with the hash `leaf`, at `index` (from 0) of a tree with `size` leaves,
/// to `root`: the procedure of section 2.1.3.2.
///
/// A root does not state its tree's size: a path may lead to it under another size too, wherever both trees have the same
/// way from leaf to root. Whoever asks has to know size and root together, which is what a seal is for.
pub fn includes(root: &Digest, size: u64, index: u64, leaf: &Digest, path: &[Digest]) -> bool {
    let (mut at, Some(mut end)) = (index, size.checked_sub(1)) else { return false };
    if at > end {
        return false;
    }
    let mut reached = *leaf;
    for other in path {
        if end == 0 {
            return false;
        }
        if at & 1 == 1 || at == end {
            reached = node(other, &reached);
            // A leaf at the ragged edge has no neighbour on some levels.
            while at & 1 == 0 && at != 0 {
                (at, end) = (at >> 1, end >> 1);
            }
        } else {
            reached = node(&reached, other);
        }
        (at, end) = (at >> 1, end >> 1);
    }
    end == 0 && reached == *root
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
    /// (`proof/verify_test.go`), for the eight test leaves; leaves counted from 1 there.
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
                    "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
                    "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
                    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
                ],
            ),
            (3, 3, &["fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"]),
            (
                2,
                5,
                &[
                    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
                    "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
                    "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
                ],
            ),
        ];
        for (number, size, path) in cases {
            let path = published(path);
            assert_eq!(inclusion_path(&leaves[..size], number - 1).as_ref(), Some(&path), "{number} of {size}");
            let root = published_roots()[size - 1];
            assert!(includes(&root, size as u64, number as u64 - 1, &leaves[number - 1], &path));
        }
    }

    /// From the leaf up, on which side the other hash stands: the definition of PATH once more, without hashes.
    fn sides(size: u64, index: u64) -> Vec<bool> {
        if size < 2 {
            return Vec::new();
        }
        let split = (1..size).rev().find(|k| k.is_power_of_two()).unwrap();
        let left = index >= split;
        let mut sides = if left { sides(size - split, index - split) } else { sides(split, index) };
        sides.push(left);
        sides
    }

    #[test]
    fn every_leaf_of_every_size_up_to_eight_is_proven_and_nothing_else() {
        let leaves = test_leaves();
        for size in 1..=8usize {
            let root = root_of(&leaves[..size]);
            for index in 0..size {
                let path = inclusion_path(&leaves[..size], index).unwrap();
                let holds = |size: usize, index: usize, leaf: &Digest, path: &[Digest], root: &Digest| {
                    includes(root, size as u64, index as u64, leaf, path)
                };
                assert!(holds(size, index, &leaves[index], &path, &root));
                for other in (0..20).filter(|other| *other != index) {
                    assert!(!holds(size, other, &leaves[index], &path, &root), "{index} as {other} of {size}");
                }
                for other in (0..20).filter(|other| *other != size) {
                    // Another size is refused wherever its tree has another way from there to the root.
                    let same = index < other && sides(other as u64, index as u64) == sides(size as u64, index as u64);
                    assert_eq!(holds(other, index, &leaves[index], &path, &root), same, "{index} of {size} as {other}");
                }
                for wrong in flips(&leaves[index]) {
                    assert!(!holds(size, index, &wrong, &path, &root));
                }
                for wrong in flips(&root) {
                    assert!(!holds(size, index, &leaves[index], &path, &wrong));
                }
                for at in 0..path.len() {
                    for wrong in flips(&path[at]) {
                        let mut path = path.clone();
                        path[at] = wrong;
                        assert!(!holds(size, index, &leaves[index], &path, &root));
                    }
                    let mut shorter = path.clone();
                    shorter.remove(at);
                    assert!(!holds(size, index, &leaves[index], &shorter, &root));
                }
                for at in 0..=path.len() {
                    let mut longer = path.clone();
                    longer.insert(at, root);
                    assert!(!holds(size, index, &leaves[index], &longer, &root));
                }
            }
            assert_eq!(inclusion_path(&leaves[..size], size), None);
        }
        assert!(!includes(&root_of(&[]), 0, 0, &root_of(&[]), &[]));
        assert!(!includes(&leaves[0], u64::MAX, u64::MAX, &leaves[0], &[]));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        /// Against the crate ct-merkle 0.3: the same paths, and each accepts the other's.
        #[test]
        fn another_implementation_makes_the_same_paths(size in 1usize..=1000, at in any::<prop::sample::Index>()) {
            let index = at.index(size);
            let mut theirs = MemoryBackedTree::<Sha256, Vec<u8>>::new();
            let mut leaves = Vec::new();
            for n in 0..size {
                let data = n.to_be_bytes().to_vec();
                leaves.push(leaf(&data));
                theirs.push(data);
            }
            let path = inclusion_path(&leaves, index).unwrap();
            let bytes: Vec<u8> = path.iter().flat_map(|digest| *digest.as_bytes()).collect();
            let proof = theirs.prove_inclusion(index);
            prop_assert_eq!(proof.as_bytes(), bytes.as_slice());
            let root = theirs.root();
            let ours = Digest::from(<[u8; 32]>::try_from(root.as_bytes().as_slice()).unwrap());
            prop_assert!(includes(&ours, size as u64, index as u64, &leaves[index], &path));
            prop_assert!(!includes(&ours, size as u64, (index as u64 + 1) % size as u64, &leaves[index], &path) || size == 1);
        }
    }
}
