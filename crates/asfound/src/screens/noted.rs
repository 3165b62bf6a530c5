//! What filing a note shows.

use asfound_core::entry::Entry;
use asfound_core::names::Tag;
use asfound_journal::journal::AppendedEntry;
use serde_json::{Value, json};

use super::shared::entry_json;
use crate::setup::Screen;
use asfound_report::{Page, date_and_time};

/// A note that was filed.
pub struct NoteScreen {
    tag: Tag,
    entry: Entry,
    headline: String,
}

impl NoteScreen {
    /// The screen for it.
    pub fn new(tag: &Tag, filed: &AppendedEntry) -> Self {
        Self { tag: tag.clone(), entry: filed.entry.clone(), headline: filed.history.headline(&filed.entry) }
    }
}

impl Screen for NoteScreen {
    fn text(&self, page: &mut Page) {
        let number = format!("entry {}", self.entry.number);
        page.head(&[self.tag.as_str(), &number, self.entry.body.kind(), &date_and_time(self.entry.recorded)]);
        page.line(self.entry.why.as_str());
        page.gap();
        page.line(&format!("Filed as entry {}.", self.entry.number));
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/note-filed/1",
            "vehicle": self.tag,
            "entry": entry_json(&self.entry, &self.headline),
        })
    }
}
