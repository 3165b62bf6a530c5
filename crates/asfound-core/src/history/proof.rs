//! How well an alteration is proven: derived from the whole history, never stored.

use super::{Doubt, Field, History, Origin};
use crate::names::EntryNumber;

/// How well an alteration is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Proof {
    /// Somebody wrote down that they made it.
    Stated,
    /// A later reading shows the value as left.
    ReadBack(EntryNumber),
    /// A bus log, filed with this entry, shows the module's positive response and the read-back, but the write only after
    /// something in the log was mended: a part of it is missing, say. [`History::on_the_wire`] has what.
    PartlyWitnessed(EntryNumber),
    /// A bus log, filed with this entry, shows the write, the module's positive response and the read-back.
    Witnessed(EntryNumber),
    /// A later reading shows something else.
    Contradicted(EntryNumber),
}

/// How the present content of a field is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ContentStatus {
    /// A reading shows it, and no recorded work brought it about.
    Read {
        /// The entry that brought the content.
        since: EntryNumber,
        /// The last reading that shows it.
        last: EntryNumber,
    },
    /// Recorded work brought it about.
    Altered {
        /// The entry of the work.
        by: EntryNumber,
        /// How well that is proven.
        proof: Proof,
    },
    /// A reading shows it, and no entry accounts for it.
    AnotherHand {
        /// The reading that showed it first.
        seen: EntryNumber,
    },
    /// A reading shows it where recorded work should have left something else.
    Contradiction {
        /// The entry of the work.
        of: EntryNumber,
        /// The reading.
        seen: EntryNumber,
    },
    /// A reading shows it, and nobody can say whether somebody altered it.
    CannotTell {
        /// The reading that showed it first.
        seen: EntryNumber,
        /// Why not.
        doubt: Doubt,
    },
}

impl History {
    /// How well the alteration of `field` in entry `entry` is proven; nothing when that entry did no work on it.
    ///
    /// The first reading of the same unit decides that was certainly taken after the work and covers the field. The alteration
    /// stays stated where other work on the field came before that reading, and where the reading shows other content in a
    /// module that has got other software since: that says nothing of the work. A bus log that shows the write, the module's
    /// positive response and the read-back proves more than a reading, and what is read after it contradicts nothing.
    pub fn proof(&self, field: &Field, entry: EntryNumber) -> Option<Proof> {
        let timeline = self.timeline(field)?;
        let of_entry = &timeline.transitions()[timeline.places_of(entry)];
        let by_readings = of_entry.iter().find(|step| step.origin == Origin::Work)?.proof?;
        Some(match (by_readings, self.witnessed_by(field, entry)) {
            (Proof::Stated | Proof::ReadBack(_), Some(witnessed)) => witnessed,
            (proof, _) => proof,
        })
    }

    /// How the present content of a field is known; nothing when nothing is known of it.
    pub fn standing(&self, field: &Field) -> Option<ContentStatus> {
        let last = self.timeline(field)?.last()?;
        Some(match last.origin {
            Origin::Work => {
                ContentStatus::Altered { by: last.entry, proof: self.proof(field, last.entry).unwrap_or(Proof::Stated) }
            }
            Origin::FirstKnown => {
                ContentStatus::Read { since: last.entry, last: self.last_reading_of(field).unwrap_or(last.entry) }
            }
            Origin::AnotherHand(_) => ContentStatus::AnotherHand { seen: last.entry },
            Origin::Contradicts(of) => ContentStatus::Contradiction { of, seen: last.entry },
            Origin::CannotTell(doubt) => ContentStatus::CannotTell { seen: last.entry, doubt },
        })
    }
}
