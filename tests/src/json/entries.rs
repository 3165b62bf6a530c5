//! `asfound/entries/1`: what `entries TAG` answers.

use serde::{Deserialize, Serialize};

use super::{Answer, Author, Proof, Signature, Trial, rising};

/// A vehicle's entries.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entries {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// Its VIN, where it has one.
    pub vin: Option<String>,
    /// The entries, oldest first.
    pub entries: Vec<EntryLine>,
}

/// One entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EntryLine {
    /// Its number.
    pub number: u32,
    /// Its kind.
    pub kind: String,
    /// What it tells, in one line.
    pub headline: String,
    /// When it was filed (RFC 3339).
    pub recorded: String,
    /// When what it tells of happened (RFC 3339).
    pub happened: String,
    /// How exactly that is known: `second`, `day`, `month` or `year`.
    pub precision: String,
    /// Who filed it.
    pub author: Author,
    /// Why.
    pub why: String,
    /// How well its work is proven, each level once, weakest first; empty where there is no work in it.
    pub proof: Vec<Proof>,
    /// How its trial stands; nothing for what has none.
    pub trial: Option<Trial>,
    /// The entries that correct it, in order.
    pub corrected_by: Vec<u32>,
    /// Its signature.
    pub signature: Signature,
}

impl Answer for Entries {
    const SCHEMA: &'static str = "asfound/entries/1";
    fn check(&self) {
        for (at, entry) in (1..).zip(&self.entries) {
            assert_eq!(entry.number, at, "entries are numbered without gap");
            rising("corrections", &entry.corrected_by, |number| *number);
            let levels = ["stated", "read-back", "partly-witnessed", "witnessed", "contradicted"];
            let weight = |proof: &Proof| levels.iter().position(|level| *level == proof.level);
            rising("proofs", &entry.proof, |proof| (weight(proof), proof.reading));
        }
    }
}
