//! Work orders: the frame around the entries that were made for one job.
//!
//! An order is opened with what the customer agreed to, may be extended with a further consent, and is closed. The entries in
//! between belong to it. [`WorkOrders`] finds them in a journal; [`OutcomeBuilder`] holds what was authorised against what was done, field
//! by field, down to bits that no definition names.

mod orders;
mod outcome;
mod outcome_line;

pub use orders::{WorkOrder, WorkOrders, open_order, orders};
pub use outcome::{OutcomeBuilder, outcome};
pub use outcome_line::{HowDone, LineGroup, OrderOutcome, OrderVerdict, OutcomeLine, OutcomeSubject};
