//! One vehicle's journal: reading its entries, appending the next.

mod append;
mod basis;
mod definitions;
mod entry_index;
mod error;
mod message;
mod read;
mod reinterpreted;
mod seal_of;
mod tree_draft;

pub(crate) use append::AppendBase;
pub use append::{AppendedEntry, Attachment, EntryDraft, EntryRandomness, Snapshot};
pub use basis::Basis;
pub use entry_index::EntryIndex;
pub use error::{FileError, JournalError};
pub use read::{FiledEntry, Journal, Signing};
