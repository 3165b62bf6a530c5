//! Diagnostic trouble codes as typed values.

mod code;
mod status;

pub use code::{TroubleCode, TroubleCodeError};
pub use status::{CodeStatus, StatusError};

use serde::{Deserialize, Serialize};

/// A trouble code as a module reported it: the code and, where it was given, its status byte.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReportedCode {
    /// The code.
    pub code: TroubleCode,
    /// The status byte (ISO 14229-1), where the module gave one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub status: Option<CodeStatus>,
}
