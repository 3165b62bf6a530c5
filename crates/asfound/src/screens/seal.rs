//! What `seal` shows of a journal.

use asfound_core::entry::Entry;
use asfound_core::names::Tag;
use asfound_journal::seal::{Checkpoint, Seal};
use serde_json::{Value, json};

use super::shared::counted;
use crate::setup::Screen;
use asfound_report::{Page, date};

/// A journal's seal.
pub struct SealScreen {
    /// The vehicle.
    pub tag: Tag,
    /// The seal.
    pub seal: Seal,
    /// The last entry that it is over.
    pub last: Option<Entry>,
    /// How many entries the journal has.
    pub all: usize,
}

/// A seal in JSON.
pub fn seal_json(seal: &Seal) -> Value {
    json!({
        "entries": seal.entries,
        "root": seal.root,
        "full": seal.to_string(),
        "short": seal.short().to_string(),
    })
}

/// So many entries.
pub fn entries(count: u64) -> String {
    counted(usize::try_from(count).unwrap_or(usize::MAX), "entry", "entries")
}

impl Screen for SealScreen {
    fn text(&self, page: &mut Page) {
        let count = self.seal.entries;
        let over = if count == self.all as u64 {
            format!("seal over {}", entries(count))
        } else {
            format!("seal over the first {count} of {} entries", self.all)
        };
        let last = self.last.as_ref().map(|last| format!("the last of {}", date(last.recorded)));
        page.head(&[self.tag.as_str(), &over, &last.unwrap_or_default()]);
        page.part(&self.seal.short().to_string());
        page.gap();
        page.line("In full:");
        page.verbatim(&self.seal.to_string());
        page.gap();
        page.line(&format!(
            "It stands for {} as they are now, to the last byte and in their order. Whoever holds it can tell later \
             whether one of them was altered, left out or put in, whatever was added since.",
            if count == 1 { "the first entry".to_owned() } else { format!("the {}", entries(count)) }
        ));
        page.part("Keep it away from this garage");
        page.item("with the customer: on the sheet that they take home, or read out");
        page.item("with a second garage, which does the same in return");
        page.item("in an e-mail to yourself and the customer, which bears a date");
        page.gap();
        page.line("Later:");
        page.verbatim(&format!("asfound audit {} --seal {}", self.tag, self.seal.short()));
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/seal/1",
            "vehicle": self.tag,
            "seal": seal_json(&self.seal),
            "entries_in_journal": self.all,
        })
    }
}

/// A journal's seal as a checkpoint.
pub struct CheckpointNote {
    /// The vehicle.
    pub tag: Tag,
    /// The checkpoint.
    pub checkpoint: Checkpoint,
}

impl Screen for CheckpointNote {
    fn text(&self, page: &mut Page) {
        // Three lines without spaces, which no width breaks: they can be sent on as they are.
        self.checkpoint.to_text().lines().for_each(|line| page.line(line));
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/checkpoint/1",
            "vehicle": self.tag,
            "seal": seal_json(&self.checkpoint.seal),
            "origin": self.checkpoint.origin(),
            "text": self.checkpoint.to_text(),
        })
    }
}
