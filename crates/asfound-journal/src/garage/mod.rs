//! A garage: the directory that holds the journals of all vehicles.
//!
//! ```text
//! garage.toml     what it is (`format = "asfound-garage/1"`), and its settings
//! definitions/    definition files, by name
//! allowed_signers the keys that are trusted, once there are any
//! columns/        column mappings for tables, by name
//! descriptions/   tables that say what trouble codes mean, by name
//! locks/          one file a vehicle, locked while its journal is written
//! journals.git    the journals, a bare git repository
//! index/          what follows from the journals, quick to read; may be deleted at any time
//! ```
//!
//! `garage.toml` is written last, so that a directory without it is one that
//! [`Garage::create`] has yet to finish.

mod columns_name;
mod descriptions;
mod error;
mod kept;
mod open;
mod run_file;
mod settings;
mod signing;

pub use columns_name::{ColumnsName, ColumnsNameError};
pub use descriptions::DescriptionsForm;
pub use error::GarageError;
pub use kept::KeptFile;
pub use open::Garage;
pub use run_file::{RunFile, RunFileError};
pub use settings::{AuthorSettings, GarageSettings, Person, SigningKey, WorkshopSettings};
pub use signing::ALLOWED_SIGNERS;
