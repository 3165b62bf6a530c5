//! Logs of the diagnostic bus, as witness of what was done.
//!
//! [`BusSummary`] gathers what `asfound-wire` heard in one or more logs; [`place`] says which module of the vehicle is which
//! address; [`draw_up`] works out what the logs show: the writes with what was read before and after, which of them the journal
//! has already, which are another hand, and the entries that follow.

mod action_words;
mod address;
mod bus_summary;
mod cannot_tell;
mod clock;
mod draft_builder;
mod draw_up;
mod identification;
mod identity;
mod journal_after;
mod logged;
mod mirrored;
mod moved_between;
mod readings;
mod recorded_work;
mod relevant_entries;
mod tester;

pub use address::{AddressedModule, AddressedModuleError};
pub use bus_summary::{BusModule, BusSummary};
pub use cannot_tell::CannotTell;
pub use clock::Clock;
pub use draw_up::{DraftEntry, DraftTerms, LeftOut, LogDraftError, LogDrafts, LogRequest, draw_up, lengths};
pub use identification::{
    IdentificationError, IdentifiedBy, IdentifiedModule, ModuleIdentification, UnidentifiedModule, place,
};
pub use relevant_entries::Bearing;
pub use tester::{TesterWrites, UNKNOWN_TESTER};
