//! The Merkle tree of a journal, after RFC 9162 (the successor of RFC 6962).
//!
//! Each entry is a leaf; the tree is appended to and never rewritten. [`root_of`] hashes
//! a whole list as the standard defines it; [`Peaks`] holds just enough of a tree to
//! append to it, so that the root after the next entry costs a handful of hashes.

mod hash;
mod peaks;

pub use hash::{leaf, node, root_of};
pub use peaks::{Peaks, PeaksError};
