//! Pieces of the command line that several commands share.

mod acknowledged;
mod assignment;
mod complete;
mod followed_sheet;
mod for_a_time;
mod moment;
mod one_line;

pub use acknowledged::{Acknowledged, acknowledgement_options, with_options};
pub use assignment::{Assignment, AssignmentPlace, FoundValue};
pub use complete::{layers_of_package, settings_of_vehicle, tags};
pub use followed_sheet::FollowedSheet;
pub use for_a_time::ForATime;
pub use moment::{MomentError, parse_moment};
pub use one_line::one_line;
