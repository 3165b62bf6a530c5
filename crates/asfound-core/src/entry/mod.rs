//! The lines of a journal.

mod author;
mod body;
mod effect;
mod line;
mod moment;
mod order;
mod plain_reason;
mod vehicle;
mod walked;
mod witness;

pub use author::{Author, AuthorError, Reason, ReasonError};
pub use body::{
    Acknowledgement, Body, Correction, Covered, LateContent, PutBackOf, ReadingBody, ReadingRole, UnknownReadingRole,
    WorkBody,
};
pub use effect::{Effects, IdentityEffect, RecordEffect, StatedEffect};
pub use line::{Entry, Moment};
pub use moment::{Happened, Precision, PrecisionError, Span};
pub use order::{Authorised, OrderNumber, OrderNumberError, OrderTerms};
pub use plain_reason::PlainReason;
pub use vehicle::Vehicle;
pub use walked::{PlanId, PlanIdError, StepDone, StepOutcome, StepPlace};
pub use witness::{
    BusPlace, LogDigest, LogDigestError, Mending, WireAction, WireAnswer, WireGap, WireMovement, WireWrite,
    WitnessBody, WitnessedLog, altered, held_before,
};
