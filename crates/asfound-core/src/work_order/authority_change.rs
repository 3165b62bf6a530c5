//! What an order comes to with some of its terms, against what it comes to without.

use super::{LineGroup, OrderOutcome, OutcomeSubject};

/// One thing that is judged otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuthorityChange {
    /// What it is about.
    pub what: OutcomeSubject,
    /// How it is judged without the terms; nothing where it has no line then.
    pub without: Option<LineGroup>,
    /// How it is judged with them; nothing where it has no line then.
    pub with: Option<LineGroup>,
}

/// What two outcomes of one order judge otherwise, by what it is about.
pub fn authority_changes(without: &OrderOutcome, with: &OrderOutcome) -> Vec<AuthorityChange> {
    let of =
        |outcome: &OrderOutcome, what: &OutcomeSubject| outcome.about(what).next().map(|line| line.verdict.group());
    let mut subjects: Vec<&OutcomeSubject> = without.lines.iter().chain(&with.lines).map(|line| &line.what).collect();
    subjects.sort();
    subjects.dedup();
    let changes = subjects.into_iter().map(|what| AuthorityChange {
        what: what.clone(),
        without: of(without, what),
        with: of(with, what),
    });
    changes.filter(|change| change.without != change.with).collect()
}
