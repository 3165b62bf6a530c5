//! The files of one entry, as text that a person can read and git can compare.
//!
//! `entry.toml` says what happened, `vehicle.toml` what vehicle it is, `modules/<module>.toml`
//! what is known of each module afterwards, `trouble-codes.toml` what codes were stored,
//! `definitions/<id>.toml` what explains the bytes, `evidence/…` whatever was attached, and
//! `manifest` the SHA-256 of them all. The format is written down in `docs/format.md`.

mod blind;
mod chain;
mod codes_file;
mod entry_file;
mod evidence;
mod module_file;
mod replayed;
mod salt;
mod stored_module;
mod vehicle_file;

pub use blind::{BLIND_PATH, Blind, BlindError, line_hash};
pub use chain::Chain;
pub use codes_file::codes_text;
pub use entry_file::{ENTRY_FORMAT, EntryFile, EntryFileError};
pub use evidence::evidence_path;
pub use module_file::{DecodedSettings, module_text, module_text_after};
pub use replayed::Replayed;
pub use salt::Salt;
pub use stored_module::StoredModule;
pub use vehicle_file::{VehicleFile, VehicleFileError};
