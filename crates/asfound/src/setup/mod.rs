//! What a run of the program has at hand: its surroundings, the garage, one vehicle's journal.

mod at_hand;
mod definition_file;
mod environment;
mod session;
mod vehicle;

pub use at_hand::{Clock, Prompt};
pub use definition_file::{parse_definition, problems_failure};
pub use environment::Environment;
pub use session::{Screen, Session, reason};
pub use vehicle::{Known, definitions_of, garage_definitions};
