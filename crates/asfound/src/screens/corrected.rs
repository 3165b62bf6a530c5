//! What filing a correction shows.

use asfound_core::entry::{Body, Correction, Entry};
use asfound_core::history::{History, Transition};
use asfound_core::names::{EntryNumber, Tag};
use asfound_journal::journal::AppendedEntry;
use serde_json::{Value, json};

use super::shared::{entry_json, or_nothing, words_side_by_side};
use crate::setup::{Screen, TracedJournal};
use asfound_report::{Page, Table, date_and_time};

/// A correction that was filed.
pub struct CorrectionScreen {
    tag: Tag,
    entry: Entry,
    headline: String,
    correction: Option<Correction>,
    words: Option<(String, String)>,
    lines: Vec<CorrectedLine>,
}

/// A field of a corrected entry.
pub struct CorrectedLine {
    field: String,
    said: String,
    is: String,
}

/// The journal's word before a correction against its word after it, for every field of the corrected entry.
pub fn corrected_lines(before: &History, after: &History, corrects: EntryNumber) -> Vec<CorrectedLine> {
    let text = |step: &Transition| match &step.found {
        Some(found) => format!("{found} -> {}", step.left),
        None => step.left.to_string(),
    };
    let mut lines = Vec::new();
    for (field, step) in before.transitions_of(corrects) {
        let now = after.timeline(field).and_then(|timeline| timeline.current());
        let said = text(step);
        let is = after.transitions_of(corrects).find(|(other, _)| *other == field).map(|(_, step)| text(step));
        if is.as_ref() != Some(&said) {
            let altered = field.altered(step.found.as_ref(), Some(&step.left));
            lines.push(CorrectedLine { field: altered, said, is: is.unwrap_or_else(|| or_nothing(now)) });
        }
    }
    lines
}

/// Puts them on a page, where there are any.
pub fn corrected_text(page: &mut Page, lines: &[CorrectedLine]) {
    let mut table = Table::new(["setting", "the entry said", "it is"]);
    for line in lines {
        table.row([line.field.clone(), line.said.clone(), line.is.clone()]);
    }
    if !table.is_empty() {
        page.gap();
        page.table(&table);
    }
}

/// They in JSON.
pub fn corrected_json(lines: &[CorrectedLine]) -> Value {
    lines.iter().map(|line| json!({ "field": line.field, "said": line.said, "is": line.is })).collect()
}

impl CorrectionScreen {
    /// The screen for it.
    pub fn new(known: &TracedJournal, filed: &AppendedEntry) -> Self {
        let correction = match &filed.entry.body {
            Body::Correction(correction) => Some(correction.clone()),
            _ => None,
        };
        let corrects = correction.as_ref().map(|correction| correction.corrects);
        let words = correction.as_ref().and_then(|correction| {
            let said = known.entry(correction.corrects).ok()?.entry.why.to_string();
            Some((said, correction.words.as_ref()?.to_string()))
        });
        let lines = corrects.map(|corrects| corrected_lines(&known.history, &filed.history, corrects));
        Self {
            words,
            tag: known.tag.clone(),
            headline: filed.history.headline(&filed.entry),
            entry: filed.entry.clone(),
            correction,
            lines: lines.unwrap_or_default(),
        }
    }
}

impl Screen for CorrectionScreen {
    fn text(&self, page: &mut Page) {
        let number = format!("entry {}", self.entry.number);
        page.head(&[self.tag.as_str(), &number, &self.headline, &date_and_time(self.entry.recorded)]);
        page.pair("why", self.entry.why.as_str());
        corrected_text(page, &self.lines);
        if let Some((said, is)) = &self.words {
            let (said, is) = words_side_by_side(said, is);
            page.gap();
            page.pair("it said", &said);
            page.pair("it is", &is);
        }
        page.gap();
        page.line(&format!("Filed as entry {}. Nothing was done to the vehicle.", self.entry.number));
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/correction-filed/1",
            "vehicle": self.tag,
            "entry": entry_json(&self.entry, &self.headline),
            "corrects": self.correction.as_ref().map(|correction| correction.corrects),
            "never_made": self.correction.as_ref().is_some_and(|correction| correction.never_made),
            "words": self.words.as_ref().map(|(said, is)| json!({ "said": said, "is": is })),
            "settings": corrected_json(&self.lines),
        })
    }
}
