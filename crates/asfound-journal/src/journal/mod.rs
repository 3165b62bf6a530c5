//! One vehicle's journal: reading its entries, appending the next.

mod append;
mod basis;
mod definitions;
mod error;
mod message;
mod read;
mod redefined;
mod roll;
mod seal_of;
mod tree_draft;

pub(crate) use append::Under;
pub use append::{Before, Chance, Draft, Evidence, Filed};
pub use basis::Basis;
pub use error::{FileError, JournalError};
pub use read::{FiledEntry, Journal, Signing};
pub use roll::Roll;
