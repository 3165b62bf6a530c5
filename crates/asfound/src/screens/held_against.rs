//! How a journal stands to the seals that somebody kept.

use std::path::PathBuf;

use asfound_core::names::{EntryNumber, Tag};
use asfound_core::work_order::{AuthorityChange, LineGroup};
use asfound_journal::audit::{DiffersWithin, SealComparison, SealVerdict};
use asfound_journal::seal::{Extension, KeptSeal};
use serde_json::{Value, json};

use super::extension::added;
use super::order::group_word;
use super::seal::entries;
use asfound_report::{NOTHING, Page, Table};

/// A journal held against seals.
pub struct SealComparisonScreen {
    /// What it comes to.
    pub outcome: SealComparison,
    /// Seals that are those of other journals of the garage.
    pub owners: Vec<(KeptSeal, Tag)>,
    /// The entries that stand between sealed ones without being sealed.
    pub unsealed: Vec<UnsealedEntry>,
    /// What is judged otherwise because of them.
    pub judged: Vec<AuthorityChange>,
    /// The proof that was written, and where.
    pub proof: Option<(PathBuf, Extension)>,
}

/// An entry that stands between sealed ones without being sealed.
pub struct UnsealedEntry {
    /// Its number.
    pub entry: EntryNumber,
    /// What it is.
    pub headline: String,
    /// Its author.
    pub author: String,
    /// What its signature is worth, as a word.
    pub signature: &'static str,
}

impl SealComparisonScreen {
    /// Whether a seal does not hold.
    pub fn refuted(&self) -> bool {
        let cannot_tell = |verdict: &SealVerdict| matches!(verdict, SealVerdict::CannotTell { .. });
        !self.unsealed.is_empty()
            || self.outcome.seals.iter().any(|(_, verdict)| !verdict.holds() && !cannot_tell(verdict))
    }

    /// For people.
    pub fn text(&self, page: &mut Page) {
        for (kept, verdict) in &self.outcome.seals {
            match self.owners.iter().find(|(seal, _)| seal == kept) {
                Some((_, owner)) => page.alarm(&format!(
                    "the seal over {} is not of this journal: it is that of `{owner}`",
                    entries(kept.entries())
                )),
                None => one(page, kept, *verdict),
            }
        }
        self.unsealed_text(page);
        if let Some(DiffersWithin { after, until }) = self.outcome.differs {
            page.gap();
            page.line(&within(after, until));
        }
        if let Some((file, proof)) = &self.proof {
            page.gap();
            page.line(&format!(
                "The proof is in {}. It tells nothing of the entries. Whoever kept a seal checks it without the journal:",
                file.display()
            ));
            page.verbatim(&format!("asfound audit FILE --seal {}", proof.earlier().short()));
        }
    }

    /// For programs.
    pub fn json(&self) -> Value {
        let seal = |(kept, verdict): &(KeptSeal, SealVerdict)| {
            let (added, here) = match verdict {
                SealVerdict::Holds { added } => (Some(added), None),
                SealVerdict::Shorter { here } | SealVerdict::CannotTell { readable: here } => (None, Some(here)),
                SealVerdict::HoldsReplayed { .. } | SealVerdict::DoesNotHold | SealVerdict::NotOfThisJournal => {
                    (None, None)
                }
            };
            json!({
                "seal": kept.to_string(),
                "entries": kept.entries(),
                "verdict": verdict.word(),
                "added_since": added,
                "entries_here": here,
                "of_vehicle": self.owners.iter().find(|(seal, _)| seal == kept).map(|(_, owner)| owner),
            })
        };
        let differs = |within: &DiffersWithin| json!({ "after": within.after, "until": within.until });
        let unsealed = |one: &UnsealedEntry| json!({ "entry": one.entry, "headline": one.headline, "author": one.author, "signature": one.signature });
        let group = |group: Option<LineGroup>| group.map(group_word);
        let judged = |change: &AuthorityChange| {
            json!({
                "what": change.what.to_string(),
                "as_sealed": group(change.without),
                "now": group(change.with),
            })
        };
        json!({
            "kept": self.outcome.seals.iter().map(seal).collect::<Vec<_>>(),
            "differs": self.outcome.differs.as_ref().map(differs),
            "unsealed": self.unsealed.iter().map(unsealed).collect::<Vec<_>>(),
            "judged_otherwise": self.judged.iter().map(judged).collect::<Vec<_>>(),
            "proof": self.proof.as_ref().map(|(_, proof)| proof),
            "file": self.proof.as_ref().map(|(file, _)| file),
        })
    }
}

impl SealComparisonScreen {
    /// What stands between sealed entries without being sealed, and what that changes.
    fn unsealed_text(&self, page: &mut Page) {
        if self.unsealed.is_empty() {
            return;
        }
        page.gap();
        page.alarm(&format!(
            "{} between the sealed ones and under no seal: what the seal says ends there",
            match self.unsealed.len() {
                1 => "1 entry stands".to_owned(),
                count => format!("{count} entries stand"),
            }
        ));
        let mut table = Table::new(["entry", "what", "author", "signature"]).figures(0);
        for one in &self.unsealed {
            table.row([one.entry.to_string(), one.headline.clone(), one.author.clone(), one.signature.to_owned()]);
        }
        page.table(&table);
        if !self.judged.is_empty() {
            page.gap();
            page.line("Without them, by what was sealed, the orders say otherwise:");
            let mut table = Table::new(["what", "as sealed", "now"]);
            let word = |group: Option<LineGroup>| group.map_or(NOTHING.to_owned(), |group| group.to_string());
            for change in &self.judged {
                table.row([change.what.to_string(), word(change.without), word(change.with)]);
            }
            page.table(&table);
        }
    }
}

fn one(page: &mut Page, kept: &KeptSeal, verdict: SealVerdict) {
    let count = kept.entries();
    let over = format!("the seal over {}", entries(count));
    match verdict {
        SealVerdict::Holds { added: since } => {
            let sealed = match count {
                1 => "Its first entry is the one that was sealed".to_owned(),
                _ => format!("Its first {} are those that were sealed, in their order", entries(count)),
            };
            page.line(&format!("{sealed}; {}.", added(since)));
        }
        SealVerdict::HoldsReplayed { in_place } => page.line(&format!(
            "{} that were sealed stand in the journal with all that they say: the first {in_place} where they were sealed, the others \
             behind entries of another bench, with other numbers.",
            match count {
                1 => "The one entry".to_owned(),
                _ => format!("All {}", entries(count)),
            }
        )),
        SealVerdict::Shorter { here } => page.alarm(&format!(
            "{over} does not hold: here are {here}. Some were removed since, or the seal is another journal's"
        )),
        SealVerdict::DoesNotHold => page.alarm(&format!(
            "{over} does not hold: an entry was altered, left out or put in, or the seal is another journal's"
        )),
        SealVerdict::NotOfThisJournal => page
            .alarm(&format!("{over} does not hold, though a later one does: it is another journal's, or was misread")),
        SealVerdict::CannotTell { readable } => page.caution(&format!(
            "whether {over} holds cannot be told: only {} can be read from the first on",
            entries(readable)
        )),
    }
}

/// Where to look.
fn within(after: u64, until: u64) -> String {
    let first = after + 1;
    if first == until {
        return format!("If the seals are this journal's, entry {until} is not the one that was sealed.");
    }
    format!(
        "If the seals are this journal's, the first entry that is not the one that was sealed is one of {first} to {until}. \
         A seal from between, or a disclosed entry, tells it closer."
    )
}
