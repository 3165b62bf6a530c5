//! The seal of a journal: how many entries it has and the root of their Merkle tree.
//!
//! A [`Seal`] that somebody kept shows later whether the journal still begins with the same entries. It is
//! written in three ways: in full (`12:6e34…`), in a [short form](ShortSeal) made to be read out and typed, and as a
//! [`Checkpoint`], the open format of transparency logs. [`KeptSeal`] reads each of them. An [`Extension`] is a
//! proof, in a file, that a journal with one seal grew to another.

mod checkpoint;
mod error;
mod extension;
mod full;
mod kept;
mod short;

pub use checkpoint::{Checkpoint, CheckpointError, NoteSignature};
pub use error::SealError;
pub use extension::{EXTENSION_FORMAT, Extension, ExtensionError, ExtensionFinding};
pub use full::Seal;
pub use kept::KeptSeal;
pub use short::ShortSeal;
