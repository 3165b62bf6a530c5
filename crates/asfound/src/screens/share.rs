//! What `share` shows.

use std::collections::BTreeMap;

use asfound_core::names::{EntryNumber, Tag};
use asfound_journal::share::{JoinOutcome, ShareError};
use serde_json::{Value, json};

use super::shared::counted;
use crate::exit::Exit;
use crate::setup::Screen;
use asfound_report::{Page, Table};

/// What sharing with a place came to.
pub struct ShareScreen {
    /// The place.
    pub place: String,
    /// The journals, by tag.
    pub journals: BTreeMap<Tag, SharedJournal>,
}

/// What sharing one journal came to.
#[derive(Default)]
pub struct SharedJournal {
    received: usize,
    sent: usize,
    renumbered: Vec<(EntryNumber, EntryNumber)>,
    set_aside: Vec<EntryNumber>,
    refused: Option<ShareError>,
    /// Why the place did not take it, in the end.
    pub not_taken: Option<String>,
}

impl SharedJournal {
    /// Adds what one more round came to.
    pub fn add(&mut self, result: Result<JoinOutcome, ShareError>) {
        match result {
            Ok(joined) => {
                self.received += joined.received;
                self.sent = joined.sends;
                // Entries that moved on in an earlier round have the number that they were given last.
                let earlier = self.renumbered.len();
                for (was, is) in joined.renumbered {
                    match self.renumbered[..earlier].iter_mut().find(|(_, before)| *before == was) {
                        Some(moved) => moved.1 = is,
                        None => self.renumbered.push((was, is)),
                    }
                }
                self.set_aside.extend(joined.set_aside);
            }
            Err(error) => self.refused = Some(error),
        }
    }

    fn outcome(&self) -> &'static str {
        if self.refused.is_some() || self.not_taken.is_some() {
            "refused"
        } else if !self.set_aside.is_empty() {
            "set-aside"
        } else if !self.renumbered.is_empty() || (self.received > 0 && self.sent > 0) {
            "brought-together"
        } else if self.received > 0 {
            "received"
        } else if self.sent > 0 {
            "sent"
        } else {
            "same"
        }
    }

    fn in_words(&self) -> &'static str {
        match self.outcome() {
            "refused" => "refused",
            "set-aside" => "set aside",
            "brought-together" => "brought together",
            "received" => "taken over",
            "sent" => "sent",
            _ => "as it was",
        }
    }
}

impl ShareScreen {
    /// How the program ends.
    pub fn exit(&self) -> Exit {
        let exit = |journal: &SharedJournal| match &journal.refused {
            Some(ShareError::Journal(_)) => Exit::Damaged,
            Some(_) => Exit::Refused,
            None if journal.not_taken.is_some() => Exit::Refused,
            None => Exit::Done,
        };
        self.journals.values().map(exit).max().unwrap_or(Exit::Done)
    }
}

impl Screen for ShareScreen {
    fn text(&self, page: &mut Page) {
        page.head(&["shared with", &self.place]);
        let mut table = Table::new(["vehicle", "outcome", "from there", "from here"]).figures(2).figures(3);
        for (tag, journal) in self.journals.iter().filter(|(_, journal)| journal.outcome() != "same") {
            let count = |count: usize| if count == 0 { "–".to_owned() } else { count.to_string() };
            table.row([tag.to_string(), journal.in_words().to_owned(), count(journal.received), count(journal.sent)]);
        }
        if !table.is_empty() {
            page.table(&table);
        }
        for (tag, journal) in &self.journals {
            for (was, is) in &journal.renumbered {
                page.line(&format!("{tag}: entry {was} is entry {is} now, behind what was filed there meanwhile."));
            }
            if let (Some(first), Some(last)) = (journal.set_aside.first(), journal.set_aside.last()) {
                page.caution(&format!(
                    "{tag}: entries {first} to {last} of this garage were set aside; they are legible below refs/kept/{tag}/"
                ));
            }
        }
        let same = self.journals.values().filter(|journal| journal.outcome() == "same").count();
        if same > 0 {
            page.line(&format!("{} the same here and there.", counted(same, "journal is", "journals are")));
        }
        if self.journals.is_empty() {
            page.line("There is no journal, neither here nor there.");
        }
        for (tag, journal) in &self.journals {
            if let Some(error) = &journal.refused {
                page.gap();
                page.alarm(&error.to_string());
                if let Some(hint) = error.hint() {
                    page.line(&format!("Next: {hint}"));
                }
            } else if let Some(why) = &journal.not_taken {
                page.gap();
                page.alarm(&format!("the place did not take the journal of `{tag}`: {why}"));
            }
        }
    }

    fn json(&self) -> Value {
        let journal = |(tag, journal): (&Tag, &SharedJournal)| {
            let renumbered = journal.renumbered.iter().map(|(was, is)| json!({ "was": was, "is": is }));
            let refusal = match (&journal.refused, &journal.not_taken) {
                (Some(error), _) => {
                    Some(json!({ "kind": error.word(), "message": error.to_string(), "hint": error.hint() }))
                }
                (None, Some(why)) => Some(json!({ "kind": "not-taken", "message": why, "hint": null })),
                (None, None) => None,
            };
            json!({
                "vehicle": tag,
                "outcome": journal.outcome(),
                "received": journal.received,
                "sent": journal.sent,
                "renumbered": renumbered.collect::<Vec<_>>(),
                "set_aside": journal.set_aside,
                "refusal": refusal,
            })
        };
        json!({
            "schema": "asfound/shared/1",
            "place": self.place,
            "journals": self.journals.iter().map(journal).collect::<Vec<_>>(),
        })
    }
}
