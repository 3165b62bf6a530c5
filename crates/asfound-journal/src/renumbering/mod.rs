//! Entries of one line behind the entries of another: where each stands there, whether it can, and what it then says.

mod counterparts;
mod move_entry;
mod under_order;

pub(crate) use counterparts::{Counterparts, EntryMismatch, happened, states, unlike};
pub(crate) use move_entry::EntryMove;
pub use move_entry::Obstacle;
pub(crate) use under_order::stands;
