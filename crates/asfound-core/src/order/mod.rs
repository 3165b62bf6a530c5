//! Work orders: the frame around the entries that were made for one job.
//!
//! An order is opened with what the customer agreed to, may be extended with a further consent, and is closed. The entries in
//! between belong to it. [`Orders`] finds them in a journal; [`Reckoning`] holds what was authorised against what was done, field
//! by field, down to bits that no definition names.

mod frame;
mod line;
mod outcome;

pub use frame::{Order, Orders, open_order, orders};
pub use line::{Doing, Group, Line, Outcome, Verdict, What};
pub use outcome::{Reckoning, outcome};
