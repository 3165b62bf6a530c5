//! What a seal that does not hold is of, and what stands between sealed entries without being sealed.

use asfound_core::history::HistoryError;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::work_order::{AuthorityChange, OrderOutcome, OutcomeBuilder, WorkOrder, authority_changes};
use asfound_journal::audit::{SealComparison, SealVerdict};
use asfound_journal::journal::{Journal, JournalError};
use asfound_journal::seal::{KeptSeal, Seal};
use asfound_journal::store::Store;

use crate::failure::Failure;
use crate::screens::held_against::UnsealedEntry;
use crate::setup::{Session, TracedJournal, orders_of};

/// The other journals of the garage whose seals these are, each with the seal; what is theirs is not of this journal.
pub(super) fn owners(
    outcome: &mut SealComparison,
    tag: &Tag,
    session: &Session<'_>,
) -> Result<Vec<(KeptSeal, Tag)>, Failure> {
    let foreign = |verdict: &SealVerdict| {
        matches!(verdict, SealVerdict::DoesNotHold | SealVerdict::Shorter { .. } | SealVerdict::NotOfThisJournal)
    };
    let mut owners = Vec::new();
    if !outcome.seals.iter().any(|(_, verdict)| foreign(verdict)) {
        return Ok(owners);
    }
    let garage = session.garage()?;
    for other in garage.store().tags()?.into_iter().filter(|other| other != tag) {
        let journal = Journal::new(garage.store(), other.clone());
        // One that cannot be read is no seal's owner; an audit of it says why.
        let Ok(leaves) = journal.index().and_then(|index| journal.leaves(&index, None)) else { continue };
        for (kept, verdict) in outcome.seals.iter_mut().filter(|(_, verdict)| foreign(verdict)) {
            let sealed = usize::try_from(kept.entries()).ok().and_then(|count| leaves.get(..count));
            if sealed.is_some_and(|sealed| kept.fits(&Seal::over(sealed))) {
                *verdict = SealVerdict::NotOfThisJournal;
                owners.push((*kept, other.clone()));
            }
        }
    }
    if !outcome.seals.iter().any(|(_, verdict)| *verdict == SealVerdict::DoesNotHold) {
        outcome.differs = None;
    }
    Ok(owners)
}

/// The entries that stand between sealed ones, and what the orders of the journal judge otherwise because of them.
pub(super) fn entries(
    unsealed: &[EntryNumber],
    tag: &Tag,
    session: &Session<'_>,
) -> Result<(Vec<UnsealedEntry>, Vec<AuthorityChange>), Failure> {
    if unsealed.is_empty() {
        return Ok((Vec::new(), Vec::new()));
    }
    let known = TracedJournal::open(session, tag)?;
    let (journal, allowed) = (known.journal(), known.garage.allowed_signers()?);
    let mut entries = Vec::new();
    for filed in journal.each(&known.index) {
        let filed = filed?;
        if unsealed.contains(&filed.entry.number) {
            entries.push(UnsealedEntry {
                entry: filed.entry.number,
                headline: known.history.headline(&filed.entry),
                author: filed.entry.author.to_string(),
                signature: journal.signature(&filed, &allowed)?.word(),
            });
        }
    }
    let orders = orders_of(&journal, &known.index)?;
    let as_sealed: Vec<WorkOrder> = orders.iter().map(|order| order.without(unsealed)).collect();
    let (now, then) = (outcomes(&known, orders)?, outcomes(&known, as_sealed)?);
    let judged = then.iter().zip(&now).flat_map(|(then, now)| authority_changes(then, now)).collect();
    Ok((entries, judged))
}

fn outcomes(known: &TracedJournal, orders: Vec<WorkOrder>) -> Result<Vec<OrderOutcome>, Failure> {
    let mut outcomes = OutcomeBuilder::of(orders);
    for filed in known.journal().each(&known.index) {
        outcomes.push(&filed?.entry).map_err(HistoryError::from).map_err(JournalError::from)?;
    }
    Ok(outcomes.finish(&known.history, &known.definitions).into_iter().map(|(_, outcome)| outcome).collect())
}
