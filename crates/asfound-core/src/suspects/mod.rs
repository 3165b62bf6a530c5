//! What a trouble code may have to do with: a circumstance that many codes share, the entries in question, and how to
//! narrow them down. That something was altered before a code came proves nothing, and nothing here says that it does.

mod ask;
mod candidates;
mod circumstance;
mod evidence;
mod narrowing;
mod narrowing_state;
mod part;
mod part_state;
mod round;
mod round_planner;
mod score;
mod window;

pub use ask::{Suspect, Suspicion, suspects};
pub use candidates::SuspectKind;
pub use circumstance::{Circumstance, MANY_MODULES, common_circumstance};
pub use evidence::{RoundEvidence, ScoredSuspect};
pub use narrowing::{Acquittal, Cause, Check, MOST_PARTS, Narrowing, NarrowingFinding, Parts};
pub use narrowing_state::{NarrowingState, Proposal, RequiredObservation, narrow};
pub use part::{NotTried, SuspectGroup};
pub use round::{Round, RoundOutcome};
pub use score::ScoreReason;
pub use window::{NoSuspects, Window};
