//! The classes of care.

use std::fmt;

use serde::{Deserialize, Serialize};

/// How much care an alteration needs. Ordered: a later class is the stricter one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SafetyClass {
    /// Comfort and the like: the general cautions are enough.
    Routine,
    /// Others on the road see or depend on it, or it acts on more than its definition names.
    Caution,
    /// No definition says what it acts on, and no name does: as much care as [`Self::Caution`], and never routine.
    NotKnown,
    /// A system that can hurt people: refused unless acknowledged, for a qualified technician.
    Restricted,
}

impl SafetyClass {
    /// The class as a word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Routine => "routine",
            Self::Caution => "caution",
            Self::NotKnown => "not known",
            Self::Restricted => "restricted",
        }
    }
}

impl fmt::Display for SafetyClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}
