//! What a trouble code may have to do with: a circumstance that many codes share, the entries in question, and how to
//! narrow them down. That something was altered before a code came proves nothing, and nothing here says that it does.

mod ask;
mod candidates;
mod circumstance;
mod evidence;
mod moving;
mod narrow;
mod narrowing;
mod part;
mod place;
mod round;
mod score;
mod window;

pub use ask::{Suspect, Suspicion, suspects};
pub use candidates::SuspectKind;
pub use circumstance::{Circumstance, MANY_MODULES, common_circumstance};
pub use evidence::{Evidence, Weighed};
pub use narrow::{Narrowed, Proposal, Watched, narrow};
pub use narrowing::{Acquittal, Cause, Check, Finding, MOST_PARTS, Narrowing, Parts};
pub use part::{NotTried, Part};
pub use round::{Outcome, Round};
pub use score::ScoreReason;
pub use window::{NoSuspects, Window};
