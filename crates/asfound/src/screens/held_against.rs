//! How a journal stands to the seals that somebody kept.

use std::path::PathBuf;

use asfound_journal::audit::{RewrittenWithin, SealComparison, SealVerdict};
use asfound_journal::seal::{Extension, KeptSeal};
use serde_json::{Value, json};

use super::extension::added;
use super::seal::entries;
use asfound_report::Page;

/// A journal held against seals.
pub struct SealComparisonScreen {
    /// What it comes to.
    pub outcome: SealComparison,
    /// The proof that was written, and where.
    pub proof: Option<(PathBuf, Extension)>,
}

impl SealComparisonScreen {
    /// Whether a seal does not hold.
    pub fn refuted(&self) -> bool {
        let cannot_tell = |verdict: &SealVerdict| matches!(verdict, SealVerdict::CannotTell { .. });
        self.outcome.seals.iter().any(|(_, verdict)| !verdict.holds() && !cannot_tell(verdict))
    }

    /// For people.
    pub fn text(&self, page: &mut Page) {
        for (kept, verdict) in &self.outcome.seals {
            one(page, kept, *verdict);
        }
        if let Some(RewrittenWithin { after, until }) = self.outcome.rewritten {
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
                SealVerdict::HoldsReplayed { .. } | SealVerdict::Rewritten | SealVerdict::NotOfThisJournal => {
                    (None, None)
                }
            };
            json!({
                "seal": kept.to_string(),
                "entries": kept.entries(),
                "verdict": verdict.word(),
                "added_since": added,
                "entries_here": here,
            })
        };
        let rewritten = |within: &RewrittenWithin| json!({ "after": within.after, "until": within.until });
        json!({
            "kept": self.outcome.seals.iter().map(seal).collect::<Vec<_>>(),
            "rewritten": self.outcome.rewritten.as_ref().map(rewritten),
            "proof": self.proof.as_ref().map(|(_, proof)| proof),
            "file": self.proof.as_ref().map(|(file, _)| file),
        })
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
        SealVerdict::Rewritten => page.alarm(&format!(
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
