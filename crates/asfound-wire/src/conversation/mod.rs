//! What was asked and what was answered, module by module.

mod action;
mod address;
mod exchange;
mod exchanges;
mod left_open;
mod memory_write;
mod multi_record;
mod record_events;
mod timeline;
mod unite;

pub use action::{Action, ActionKind};
pub use address::{ModuleAddress, TesterAddress};
pub use exchange::{Exchange, ExchangeOutcome};
pub use exchanges::Exchanges;
pub use left_open::{LeftOpen, OpenMatter};
pub use memory_write::MemoryWrite;
pub use multi_record::{RecordLengths, Unsplit};
pub use record_events::{
    ReadRun, RecordAnswer, RecordEvent, RecordHappening, RecordTimeline, WriteGap, WriteOutcome, WriteStory,
};
pub use timeline::{CodesRead, Conversations, ModuleTimeline, Timeline};
