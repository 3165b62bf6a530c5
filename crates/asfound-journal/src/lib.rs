//! The journals of a garage of vehicles.
//!
//! A *garage* is a directory with one bare git repository, in which every
//! vehicle has a branch and every entry of its journal is one commit. This crate
//! keeps those journals:
//!
//! * [`garage`] makes and opens the directory, and keeps the definitions and the
//!   column mappings that lie in it.
//! * [`store`] appends entries and reads them: a small trait on plain types,
//!   with git behind it and a twin in memory for tests.
//! * [`manifest`] lists the SHA-256 of every file of an entry in the format of
//!   `sha256sum`.
//! * [`merkle`] hashes those lists into the tree of RFC 9162, whose root is
//!   the journal's seal.
//!
//! Nothing here prints, exits, reads the environment or asks the clock for a time
//! that is recorded: authors and times are handed in.

mod digest;
mod durable;
mod failure;
mod file_path;
pub mod garage;
pub mod manifest;
pub mod merkle;
pub mod store;

pub use digest::{Digest, DigestError};
pub use failure::FailureKind;
pub use file_path::{FilePath, FilePathError};
