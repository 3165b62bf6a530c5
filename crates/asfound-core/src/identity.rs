//! Which module it is: part number, versions and serial number.

use serde::{Deserialize, Serialize};

/// What a module says about itself. What is not known is `None`.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Identity {
    /// The part number, as the module gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part_number: Option<String>,
    /// The hardware version or number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hardware: Option<String>,
    /// The software version or number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub software: Option<String>,
    /// The serial number, which no definition asks for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
}

impl Identity {
    /// Whether nothing is known.
    pub fn is_unknown(&self) -> bool {
        *self == Self::default()
    }
}
