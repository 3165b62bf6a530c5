//! The identifiers of the model: each a type of its own, checked once where it enters.

mod entry_number;
mod record;
mod setting;
mod slug;
mod vin;

pub use entry_number::{EntryNumber, EntryNumberError};
pub use record::{LongIdentifier, RecordName, RecordNameError};
pub use setting::{SettingPath, SettingPathError};
pub use slug::{DefinitionId, ModuleName, RuleName, SettingName, SlugError, Tag};
pub use vin::{CheckDigit, Vin, VinError};
