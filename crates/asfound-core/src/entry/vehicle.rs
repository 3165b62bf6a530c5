//! The vehicle that a journal is about.

use serde::{Deserialize, Serialize};
use time::OffsetDateTime;

use crate::names::{Tag, Vin};

/// A vehicle with a journal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vehicle {
    /// Its short name in the garage.
    pub tag: Tag,
    /// Its VIN, where it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vin: Option<Vin>,
    /// A free description.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<String>,
    /// When its journal was started.
    #[serde(with = "time::serde::rfc3339")]
    pub enrolled: OffsetDateTime,
}
