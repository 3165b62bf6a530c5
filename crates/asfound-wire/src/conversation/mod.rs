//! What was asked and what was answered, module by module.

mod action;
mod address;
mod exchange;
mod exchanges;
mod multi_record;
mod record_events;
mod timeline;

pub use action::{Action, ActionKind};
pub use address::{ModuleAddress, TesterAddress};
pub use exchange::{Exchange, ExchangeOutcome};
pub use exchanges::Exchanges;
pub use multi_record::{RecordLengths, Unsplit};
pub use record_events::{
    ReadRun, RecordAnswer, RecordEvent, RecordHappening, RecordTimeline, WriteGap, WriteOutcome, WriteStory,
};
pub use timeline::{CodesRead, Conversations, ModuleTimeline, Timeline};
