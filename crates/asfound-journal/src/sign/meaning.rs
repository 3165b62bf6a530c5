//! What somebody means by signing.

use std::fmt;

use asfound_core::entry::Body;
use serde::{Deserialize, Serialize};

use super::Fingerprint;

/// What somebody means by signing an entry. It stands in the entry, so that it is signed with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Meaning {
    /// "I did this work": changes and put-backs.
    Made,
    /// "I took this reading, or took it over from where it was taken": readings, and what a bus log showed.
    Read,
    /// "This is so to the best of my knowledge": enrolments, corrections, notes, orders.
    Stated,
    /// "I have checked this, and let it go": a note about the work that is released, or the closing of its order.
    Released,
}

impl Meaning {
    /// What signing an entry means, where nothing else is said.
    pub fn of(body: &Body) -> Self {
        match body {
            Body::Change(_) | Body::PutBack(..) => Self::Made,
            Body::Reading(_) | Body::Witness(_) => Self::Read,
            Body::Enrolled(_)
            | Body::Correction(_)
            | Body::Note(_)
            | Body::OrderOpened(_)
            | Body::OrderExtended(_)
            | Body::OrderClosed(_) => Self::Stated,
        }
    }

    /// Whether an entry with this body may be signed with this meaning.
    pub fn fits(self, body: &Body) -> bool {
        self == Self::of(body) || (self == Self::Released && matches!(body, Body::Note(_) | Body::OrderClosed(_)))
    }
}

impl fmt::Display for Meaning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Made => "made",
            Self::Read => "read",
            Self::Stated => "stated",
            Self::Released => "released",
        })
    }
}

/// What an entry says of its own signature.
///
/// It lies in `entry.toml` and so under the manifest and the seal: a signature that is taken away or replaced
/// afterwards leaves an entry that says otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedAs {
    /// What was meant.
    pub meaning: Meaning,
    /// With which key.
    pub key: Fingerprint,
}
