//! The Merkle tree of a journal, after RFC 9162 (the successor of RFC 6962).
//!
//! Each entry is a leaf; the tree is appended to and never rewritten. [`root_of`] hashes
//! a whole list as the standard defines it; [`Peaks`] holds just enough of a tree to
//! append to it, so that the root after the next entry costs a handful of hashes. [`inclusion_path`] and
//! [`consistency_path`] make proofs that [`includes`] and [`extends`] check without the other leaves.

mod consistency;
mod hash;
mod inclusion;
mod peaks;

pub use consistency::{consistency_path, extends};
pub use hash::{leaf, node, root_of};
pub use inclusion::{includes, inclusion_path};
pub use peaks::{Peaks, PeaksError};
