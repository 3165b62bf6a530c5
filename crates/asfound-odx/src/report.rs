//! What was taken over and what was not.

use std::collections::{BTreeMap, BTreeSet};

use crate::error::Place;
use crate::reason::Reason;

/// A value that was taken over whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WholeValue {
    /// The setting.
    pub setting: String,
    /// Its number among the definition's settings.
    pub number: usize,
    /// Its record.
    pub record: String,
    /// The short names of the parameter and of what it stands in, with dots.
    pub path: String,
    /// The parameter's place in the documents.
    pub place: Place,
    /// Whether the documents also say how it is written.
    pub alterable: bool,
}

/// A value that stays bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ByteValue {
    /// The setting that holds its bytes, where it has whole ones in a record of fixed length.
    pub setting: Option<String>,
    /// The number of that setting among the definition's.
    pub number: Option<usize>,
    /// Its record.
    pub record: String,
    /// The short names of the parameter and of what it stands in, with dots.
    pub path: String,
    /// Why it stays bytes.
    pub why: Reason,
    /// The parameter's place in the documents.
    pub place: Place,
}

/// A record that the definition does not name, because its length is not always the same or it holds nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OmittedRecord {
    /// The record.
    pub record: String,
    /// Why.
    pub why: Reason,
    /// The service's place in the documents.
    pub place: Place,
}

/// Something else that a person should know.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// What it is about.
    pub place: Place,
    /// What there is to say.
    pub text: String,
}

/// What was taken over of one layer and what was not.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Report {
    /// Records that the definition names.
    pub records: Vec<String>,
    /// Values that were taken over whole.
    pub whole: Vec<WholeValue>,
    /// Values that stay bytes.
    pub kept: Vec<ByteValue>,
    /// Records that the definition does not name.
    pub left: Vec<OmittedRecord>,
    /// Services that read or write no record.
    pub other_services: usize,
    /// The languages of the labels, as the documents say: `de-DE`.
    pub languages: BTreeSet<String>,
    /// What else there is to say.
    pub notes: Vec<Note>,
}

impl Report {
    /// How many values stay bytes, by reason, the most frequent first.
    pub fn reasons(&self) -> Vec<(Reason, usize)> {
        let mut counts: BTreeMap<&Reason, usize> = BTreeMap::new();
        for kept in &self.kept {
            *counts.entry(&kept.why).or_default() += 1;
        }
        let mut reasons: Vec<(Reason, usize)> = counts.into_iter().map(|(why, count)| (why.clone(), count)).collect();
        reasons.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        reasons
    }

    /// In one sentence: `312 records, 1,840 settings; 1,711 whole, 129 kept as bytes: 88 multiplexers`.
    pub fn summary(&self) -> String {
        let (whole, kept) = (self.whole.len(), self.kept.len());
        let mut text = format!(
            "{} {}, {} {}; {} whole",
            counted(self.records.len() + self.left.len()),
            if self.records.len() + self.left.len() == 1 { "record" } else { "records" },
            counted(whole + kept),
            if whole + kept == 1 { "setting" } else { "settings" },
            counted(whole),
        );
        if kept > 0 {
            let reasons = self.reasons().into_iter().map(|(why, count)| {
                let (one, several) = why.words();
                format!("{} {}", counted(count), if count == 1 { one } else { several })
            });
            text += &format!(", {} kept as bytes: {}", counted(kept), reasons.collect::<Vec<_>>().join(", "));
        }
        text
    }
}

/// A number with commas between thousands.
fn counted(number: usize) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}
