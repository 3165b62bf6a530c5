//! Work orders: the frame around the entries that were made for one job.
//!
//! An order is opened with what the customer agreed to, may be extended with a further consent, and is closed; its terms can
//! be put right and withdrawn. The entries in between belong to it. [`WorkOrders`] finds them in a journal; [`OutcomeBuilder`] holds what was authorised against what was done, field
//! by field, down to bits that no definition names.

mod authority_change;
mod orders;
mod outcome_builder;
mod outcome_line;
mod outcome_rules;
mod term_check;
mod terms;

pub use authority_change::{AuthorityChange, authority_changes};
pub use orders::{WorkOrder, WorkOrders, open_order, orders};
pub use outcome_builder::{OutcomeBuilder, outcome};
pub use outcome_line::{HowDone, LineGroup, OrderOutcome, OrderVerdict, OutcomeLine, OutcomeSubject};
pub use term_check::{TermDoubt, check_term};
pub use terms::{AgreedItem, Term, TermEvent};
