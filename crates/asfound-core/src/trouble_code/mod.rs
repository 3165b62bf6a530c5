//! Diagnostic trouble codes as typed values, and what can be said of them without knowing the vehicle.

mod code;
mod format;
mod groups;
mod reported;
mod status;
mod structure;
mod technician;

pub use code::{TroubleCode, TroubleCodeError};
pub use format::{CodeFormat, CodeFormatError};
pub use groups::{CodeGroups, StatusChange, compare_codes};
pub use reported::{FreezeFrame, ReportedCode};
pub use status::{CodeStatus, StatusError};
pub use structure::{CodeIssuer, CodeSystem};
pub use technician::technician_first;
