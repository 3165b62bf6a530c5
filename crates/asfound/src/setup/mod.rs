//! What a run of the program has at hand: its surroundings, the garage, one vehicle's journal.

mod chance;
mod definition_file;
mod definition_files;
mod descriptions;
mod environment;
mod journal_handle;
mod prompt;
mod session;
mod setting_life;
mod signer;
mod vehicle;
mod zone;

pub use chance::chance;
pub use definition_file::{parse_definition, problems_failure};
pub use definition_files::{DefinitionFiles, garage_definitions, garage_definitions_of};
pub use descriptions::{Described, Descriptions, LoadedTable, short as short_digest};
pub use environment::{Environment, git_variables};
pub use journal_handle::JournalHandle;
pub use prompt::Prompt;
pub use session::{OneItem, Screen, Session, reason, visible_json};
pub use setting_life::SettingLife;
pub use vehicle::{DefinedJournal, TracedJournal, orders_of, trials_of};
pub use zone::{LocalTimeError, Zone};
