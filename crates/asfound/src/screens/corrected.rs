//! What filing a correction shows.

use asfound_core::entry::{Body, Correction, Entry};
use asfound_core::names::Tag;
use asfound_journal::journal::Filed;
use serde_json::{Value, json};

use super::shared::{entry_json, or_nothing, words_side_by_side};
use crate::setup::{Known, Screen};
use asfound_report::{Page, Table, date_and_time};

/// A correction that was filed.
pub struct Corrected {
    tag: Tag,
    entry: Entry,
    headline: String,
    correction: Option<Correction>,
    lines: Vec<(String, Option<String>, String)>,
    words: Option<(String, String)>,
}

impl Corrected {
    /// The screen for it.
    pub fn new(known: &Known, filed: &Filed) -> Self {
        let correction = match &filed.entry.body {
            Body::Correction(correction) => Some(correction.clone()),
            _ => None,
        };
        // The journal's word before the correction against its word after it, for every field of the corrected entry.
        let corrects = correction.as_ref().map(|correction| correction.corrects);
        let mut lines = Vec::new();
        if let Some(corrects) = corrects {
            for (field, step) in known.history.transitions_of(corrects) {
                let now = filed.history.timeline(field).and_then(|timeline| timeline.current());
                let said = |found: Option<String>, left: String| match found {
                    Some(found) => format!("{found} -> {left}"),
                    None => left,
                };
                let before = said(step.found.as_ref().map(ToString::to_string), step.left.to_string());
                let after = filed
                    .history
                    .transitions_of(corrects)
                    .find(|(other, _)| *other == field)
                    .map(|(_, step)| said(step.found.as_ref().map(ToString::to_string), step.left.to_string()));
                if after.as_ref() != Some(&before) {
                    lines.push((field.to_string(), Some(before), after.unwrap_or_else(|| or_nothing(now))));
                }
            }
        }
        let words = correction.as_ref().and_then(|correction| {
            let said = known.entry(correction.corrects).ok()?.entry.why.to_string();
            Some((said, correction.words.as_ref()?.to_string()))
        });
        Self {
            words,
            tag: known.tag.clone(),
            headline: filed.history.headline(&filed.entry),
            entry: filed.entry.clone(),
            correction,
            lines,
        }
    }
}

impl Screen for Corrected {
    fn text(&self, page: &mut Page) {
        let number = format!("entry {}", self.entry.number);
        page.head(&[self.tag.as_str(), &number, &self.headline, &date_and_time(self.entry.recorded)]);
        page.pair("why", self.entry.why.as_str());
        page.gap();
        let mut table = Table::new(["setting", "the entry said", "it is"]);
        for (field, before, after) in &self.lines {
            table.row([field.clone(), or_nothing(before.as_ref()), after.clone()]);
        }
        if !table.is_empty() {
            page.table(&table);
        }
        if let Some((said, is)) = &self.words {
            let (said, is) = words_side_by_side(said, is);
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
            "settings": self.lines.iter().map(|(field, before, after)| json!({
                "field": field, "said": before, "is": after,
            })).collect::<Vec<_>>(),
        })
    }
}
