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
//!   the journal's seal; it makes and checks proofs.
//! * [`seal`] writes and reads seals, and proofs that a journal was only added to.
//! * [`disclosure`] shows chosen files of chosen entries, with proof that they belong to a seal.
//! * [`index`] keeps what follows from the journals in a form that is quick to read.
//! * [`share`] brings together what several places have filed for one vehicle.
//! * [`batch`] files many entries of many vehicles at once.
//! * [`audit`] verifies a journal, and says what it found as data.
//!
//! Nothing here prints, exits, reads the environment or asks the clock for a time
//! that is recorded: authors and times are handed in.
//!
//! ```
//! use asfound_journal::store::{Author, FileContent, MemoryStore, NewCommit, Store};
//! use time::macros::datetime;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let store = MemoryStore::new(); // or that of a garage: Garage::open(path)?.store()
//! let wren = "wren".parse()?;
//! let mut entry = NewCommit {
//!     author: Author::new("Edda Brandt", "edda@workshop.example")?,
//!     when: datetime!(2026-03-14 09:20:05 +01:00),
//!     message: "enrolled".to_owned(),
//!     files: [("modules/body.toml".parse()?, FileContent::New(b"flashes = 3\n".to_vec()))].into(),
//! };
//! let first = store.append(&wren, None, &entry)?;
//!
//! // The next entry names the one that it was made for, and keeps what did not change.
//! let body = store.commit(&first)?.files["modules/body.toml"].clone();
//! entry.message = "noted: nothing changed".to_owned();
//! entry.files = [("modules/body.toml".parse()?, FileContent::Kept(body))].into();
//! let second = store.append(&wren, Some(&first), &entry)?;
//! assert_eq!(store.line(&wren)?, [first.clone(), second]);
//!
//! // Whoever still takes the first for the newest is told so.
//! assert!(store.append(&wren, Some(&first), &entry).is_err());
//! # Ok(())
//! # }
//! ```

pub mod audit;
pub mod batch;
mod digest;
pub mod disclosure;
mod durable;
pub mod entry_files;
mod failure;
mod file_path;
pub mod garage;
pub mod garage_file;
pub mod index;
pub mod journal;
pub mod last_filed;
pub mod manifest;
pub mod merkle;
mod renumbering;
pub mod seal;
pub mod share;
pub mod sign;
pub mod store;
mod vehicle_lookup;

pub use digest::{Digest, DigestError};
pub use failure::FailureKind;
pub use file_path::{FilePath, FilePathError};
pub use vehicle_lookup::{UnknownVehicle, VehicleLookup};
