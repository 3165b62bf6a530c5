//! What was asked and what was answered, module by module.

mod action;
mod address;
mod exchange;
mod exchanges;
mod record_events;
mod several;
mod timeline;

pub use action::{Action, ActionKind};
pub use address::{ModuleAddress, TesterAddress};
pub use exchange::{Exchange, Outcome};
pub use exchanges::Exchanges;
pub use record_events::{ReadRun, RecordEvent, RecordHappening, RecordTimeline, WriteGap, WriteOutcome, WriteStory};
pub use several::{RecordLengths, Unsplit};
pub use timeline::{CodesRead, Conversations, ModuleTimeline, Timeline};
