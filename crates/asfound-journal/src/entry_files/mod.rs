//! The files of one entry, as text that a person can read and git can compare.
//!
//! `entry.toml` says what happened, `vehicle.toml` what vehicle it is, `modules/<module>.toml`
//! what is known of each module afterwards, `trouble-codes.toml` what codes were stored,
//! `definitions/<id>.toml` what explains the bytes, `evidence/…` whatever was attached, and
//! `manifest` the SHA-256 of them all. The format is written down in `docs/format.md`.

mod attachments;
mod blind;
mod chain;
mod codes_file;
mod entry_file;
mod module_file;
mod replay_origin;
mod salt;
mod stored_module;
mod vehicle_file;

pub use attachments::evidence_path;
pub use blind::{BLIND_PATH, Blind, BlindError, line_hash};
pub use chain::Chain;
pub use codes_file::codes_text;
pub use entry_file::{ENTRY_FORMAT, EntryFile, EntryFileError};
pub use module_file::{DecodedSettings, module_text, module_text_after};
pub use replay_origin::ReplayOrigin;
pub use salt::Salt;
pub use stored_module::StoredModule;
pub use vehicle_file::{VehicleFile, VehicleFileError};
