//! Logs of the diagnostic bus, as witness of what was done.
//!
//! [`Heard`] gathers what `asfound-wire` heard in one or more logs; [`place`] says which module of the vehicle is which
//! address; [`draw_up`] works out what the logs show: the writes with what was read before and after, which of them the journal
//! has already, which are another hand, and the entries that follow.

mod address;
mod at_hand;
mod bearing;
mod cannot_tell;
mod clock;
mod draw_up;
mod drawing;
mod heard;
mod identity;
mod mirrored;
mod moved;
mod placing;
mod readings;
mod tester;
mod told;
mod words;
mod works;

pub use address::{SaidModule, SaidModuleError};
pub use bearing::Bearing;
pub use cannot_tell::CannotTell;
pub use clock::Clock;
pub use draw_up::{Asked, Drawn, DrawnEntry, LeftOut, Terms, WitnessError, draw_up, lengths};
pub use heard::{Heard, HeardModule};
pub use placing::{How, Placed, Placing, PlacingError, Unplaced, place};
pub use tester::{TesterWrites, UNKNOWN_TESTER};
