//! What `import` shows.

use serde_json::{Value, json};

use super::shared::counted;
use crate::setup::Screen;
use asfound_report::Page;

/// So many refused readings are shown to people; programs get all.
const SHOWN: usize = 20;

/// What taking in many readings came to.
pub struct ImportScreen {
    place: String,
    /// How many vehicles were enrolled.
    pub enrolled: usize,
    /// How many readings were filed.
    pub filed: usize,
    /// How many had been filed before.
    pub known: usize,
    /// Readings that were refused, and why, in the order in which they came.
    pub refused: Vec<(String, String)>,
    /// Whether one of them was no matter of the reading: a journal is damaged or out of reach.
    pub out_of_reach: bool,
}

impl ImportScreen {
    /// Nothing yet, from some place.
    pub fn new(place: String) -> Self {
        Self { place, enrolled: 0, filed: 0, known: 0, refused: Vec::new(), out_of_reach: false }
    }

    /// How many readings were looked at.
    pub fn looked_at(&self) -> usize {
        self.filed + self.known + self.refused.len()
    }

    /// Takes down that a reading was refused.
    pub fn refuse(&mut self, name: String, why: String) {
        self.refused.push((name, why));
    }
}

impl Screen for ImportScreen {
    fn text(&self, page: &mut Page) {
        page.head(&["taken in from", &self.place]);
        page.pair("filed", &counted(self.filed, "reading", "readings"));
        page.pair("filed before", &counted(self.known, "reading", "readings"));
        page.pair("refused", &counted(self.refused.len(), "reading", "readings"));
        if self.enrolled > 0 {
            page.pair("enrolled", &counted(self.enrolled, "vehicle", "vehicles"));
        }
        if self.looked_at() == 0 {
            page.line("There was no reading.");
        }
        if !self.refused.is_empty() {
            page.gap();
        }
        for (name, why) in self.refused.iter().take(SHOWN) {
            page.alarm(&format!("{name}: {why}"));
        }
        if self.refused.len() > SHOWN {
            page.line(&format!("and {} more; `--json` names all.", self.refused.len() - SHOWN));
        }
        if !self.refused.is_empty() {
            page.line("Next: put these right and take in the same again; what is filed is passed over.");
        }
    }

    fn json(&self) -> Value {
        let refused = self.refused.iter().map(|(name, why)| json!({ "name": name, "why": why }));
        json!({
            "schema": "asfound/taken-in/1",
            "place": self.place,
            "filed": self.filed,
            "filed_before": self.known,
            "enrolled": self.enrolled,
            "refused": refused.collect::<Vec<_>>(),
        })
    }
}
