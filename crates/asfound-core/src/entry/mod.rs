//! The lines of a journal.

mod author;
mod body;
mod bus_log;
mod effect;
mod journal_entry;
mod plain_reason;
mod run_report;
mod vehicle;
mod work_order;

pub use author::{Author, AuthorError, Reason, ReasonError};
pub use body::{
    Acknowledgement, Body, Correction, LateContent, ModuleCoverage, PutBackOf, ReadingBody, ReadingRole,
    UnknownReadingRole, WorkBody,
};
pub use bus_log::{
    BusLogBody, BusPlace, FiledLog, LogDigest, LogDigestError, Mending, WireAction, WireAnswer, WireGap, WireMovement,
    WireWrite, altered, held_before,
};
pub use effect::{Effects, IdentityEffect, RecordEffect, StatedEffect};
pub use journal_entry::{Entry, Moment};
pub use plain_reason::PlainReason;
pub use run_report::{PlanId, PlanIdError, StepOutcome, StepPlace, StepReport};
pub use vehicle::Vehicle;
pub use work_order::{AuthorisedItem, CorrectedTerm, OrderNumber, OrderNumberError, OrderTerms, TermSubject};
