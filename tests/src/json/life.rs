//! `asfound/life/1`: what `entries TAG SETTING` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Content, OnTheWire, Origin, Proof, rising};

/// The life of one setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Life {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The setting.
    pub field: String,
    /// Its label, where a definition gives one.
    pub label: Option<String>,
    /// What happened to it, oldest first.
    pub steps: Vec<LifeStep>,
}

/// One step in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LifeStep {
    /// The entry.
    pub entry: u32,
    /// Its kind.
    pub kind: String,
    /// When it happened (RFC 3339).
    pub happened: String,
    /// Who filed it.
    pub author: String,
    /// Why.
    pub why: String,
    /// As found; nothing when it was not known.
    pub found: Option<Content>,
    /// As left.
    pub left: Content,
    /// Where it comes from.
    pub origin: Origin,
    /// How well it is proven; nothing where it is no recorded work.
    pub proof: Option<Proof>,
    /// The write that brought it, where a bus log shows it.
    pub on_the_wire: Option<OnTheWire>,
}

impl Answer for Life {
    const SCHEMA: &'static str = "asfound/life/1";
    fn check(&self) {
        rising("steps", &self.steps, |step| step.entry);
    }
}
