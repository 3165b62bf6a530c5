//! The few hashes from which a growing tree's root follows.

use thiserror::Error;

use super::hash::node;
use crate::Digest;

/// Why stored peaks were refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PeaksError {
    /// Their number does not belong to the size.
    #[error("a tree of {size} entries has {needed} peaks, not {found}")]
    Number {
        /// The number of leaves that was stated.
        size: u64,
        /// How many peaks a tree of that size has.
        needed: u32,
        /// How many were given.
        found: usize,
    },
    /// The size is one that no journal reaches.
    #[error("a tree of {0} entries cannot be: the size is damaged")]
    Size(u64),
}

/// The roots of the perfect subtrees of a Merkle tree, largest first.
///
/// A tree of 13 leaves consists of perfect trees of 8, 4 and 1 leaves: one for each
/// bit that is set in its size. From these the root and every later root follow,
/// without the leaves.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Peaks {
    size: u64,
    roots: Vec<Digest>,
}

impl Peaks {
    /// The peaks of the empty tree.
    pub fn new() -> Self {
        Self::default()
    }

    /// Peaks that were kept, of a tree with `size` leaves, largest subtree first.
    pub fn from_roots(size: u64, roots: Vec<Digest>) -> Result<Self, PeaksError> {
        if size > u64::MAX / 2 {
            return Err(PeaksError::Size(size));
        }
        let needed = size.count_ones();
        if u32::try_from(roots.len()) != Ok(needed) {
            return Err(PeaksError::Number { size, needed, found: roots.len() });
        }
        Ok(Self { size, roots })
    }

    /// Appends the leaf with this hash (see [`leaf`](super::leaf)).
    pub fn push(&mut self, leaf: Digest) {
        // Like a carry in binary addition: each set bit at the end of the size is a
        // perfect tree that the new one completes to the next larger.
        let mut grown = leaf;
        for _ in 0..self.size.trailing_ones() {
            if let Some(left) = self.roots.pop() {
                grown = node(&left, &grown);
            }
        }
        self.roots.push(grown);
        self.size += 1;
    }

    /// The root over all leaves so far.
    pub fn root(&self) -> Digest {
        let mut roots = self.roots.iter().rev();
        let Some(&smallest) = roots.next() else {
            return super::root_of(&[]);
        };
        roots.fold(smallest, |right, left| node(left, &right))
    }

    /// How many leaves the tree has.
    pub fn size(&self) -> u64 {
        self.size
    }

    /// The roots of the perfect subtrees, largest first: what is to be kept with the size.
    pub fn roots(&self) -> &[Digest] {
        &self.roots
    }
}

impl Extend<Digest> for Peaks {
    fn extend<I: IntoIterator<Item = Digest>>(&mut self, leaves: I) {
        for leaf in leaves {
            self.push(leaf);
        }
    }
}

#[cfg(test)]
mod tests {
    use ct_merkle::mem_backed_tree::MemoryBackedTree;
    use sha2::Sha256;

    use super::super::hash::tests::{TEST_ROOTS, test_leaves};
    use super::super::{leaf, root_of};
    use super::*;

    #[test]
    fn roots_agree_with_the_public_test_leaves() {
        let leaves = test_leaves();
        for (size, start) in TEST_ROOTS {
            let mut peaks = Peaks::new();
            peaks.extend(leaves[..size].iter().copied());
            assert!(peaks.root().to_string().starts_with(start), "{size} leaves: {}", peaks.root());
        }
    }

    /// Every size up to 300 against the crate ct-merkle 0.3 and against the definition.
    #[test]
    fn every_size_agrees_with_another_implementation() {
        let mut theirs = MemoryBackedTree::<Sha256, Vec<u8>>::new();
        let mut ours = Peaks::new();
        let mut leaves = Vec::new();
        assert_eq!(ours.root(), root_of(&leaves));
        for n in 0..300u16 {
            let data = n.to_be_bytes().repeat(usize::from(n % 7));
            leaves.push(leaf(&data));
            ours.push(leaf(&data));
            theirs.push(data);
            assert_eq!(ours.root().as_bytes().as_slice(), theirs.root().as_bytes().as_slice(), "{} leaves", n + 1);
            assert_eq!(ours.root(), root_of(&leaves));
            assert_eq!(ours.size(), u64::from(n) + 1);
        }
    }

    #[test]
    fn kept_peaks_grow_like_the_tree_they_came_from() {
        let leaves = test_leaves();
        for size in 0..leaves.len() {
            let mut whole = Peaks::new();
            whole.extend(leaves[..size].iter().copied());
            let mut kept = Peaks::from_roots(whole.size(), whole.roots().to_vec()).unwrap();
            assert_eq!(kept, whole);
            kept.push(leaves[size]);
            assert_eq!(kept.root(), root_of(&leaves[..=size]));
        }
    }

    #[test]
    fn the_wrong_number_of_peaks_is_refused() {
        let one = vec![leaf(b"")];
        let wrong = PeaksError::Number { size: 3, needed: 2, found: 1 };
        assert_eq!(Peaks::from_roots(3, one.clone()), Err(wrong));
        let endless = vec![leaf(b""); 64];
        assert_eq!(Peaks::from_roots(u64::MAX, endless), Err(PeaksError::Size(u64::MAX)));
        assert!(Peaks::from_roots(0, one).is_err());
        assert!(Peaks::from_roots(4, vec![]).is_err());
    }
}
