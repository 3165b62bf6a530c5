//! Brings together what several places have filed for one vehicle.
//!
//! Places exchange journals through git, and a shared journal only ever grows. Where two benches have filed entries for one
//! car at the same time, the entries of whoever shares later are drawn up anew behind those that are shared already: with
//! new numbers, a new chain and new manifests, and only where each still follows from what is known then. The line that they
//! stood in is kept beside the journal, so that a seal that was given out over it can still be checked. `docs/sharing.md`
//! says how and why.
//!
//! Nothing here starts a program or opens a connection: whoever calls has fetched what the other place has into a repository made for that
//! ([`crate::store::TransferRepository`]), below [`SharePlace::incoming`]. There it is examined ([`examine()`]); what was found in order is taken over,
//! brought together ([`join()`]), and what [`JoinOutcome::sends`] names is sent.

mod error;
mod examine;
mod join;
mod place;
mod replay;

pub use error::ShareError;
pub use examine::{Examined, examine};
pub use join::{Definitions, JoinOutcome, Sharing, join, keep};
pub use place::SharePlace;

pub use crate::renumbering::Obstacle;
