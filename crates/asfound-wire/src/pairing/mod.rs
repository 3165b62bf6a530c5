//! Which identifiers carry diagnostics, and which of them belong together: found by what is seen.
//!
//! No table of usual identifiers decides: a pair is found when one identifier answers another. What counts:
//!
//! - a first frame answered by a flow control on another identifier, after which the first goes on with frame 1 (ISO 15765-2);
//! - a response that repeats its request's service (plus 40, or after 7F) and what else the service repeats of the
//!   request: record identifier, sub-function, routine (ISO 14229-1).
//!
//! Ordinary traffic is told by frames that no transport would send: lengths that cannot be, services that do not exist, counts that
//! do not count.

mod addressing_score;
mod echo;
mod evidence;
mod finder;
mod held_frames;
mod id_table;
mod pair_override;
mod pairs;

pub(crate) use echo::{NEGATIVE, echo, has_sub_function, is_response};
pub(crate) use finder::{Finder, FrameVerdict};
pub use finder::{PairingResult, Undecided};
pub use pair_override::{PairOverride, PairOverrideError};
pub use pairs::{Pair, Pairs, Role};
