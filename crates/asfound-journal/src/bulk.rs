//! Files many entries of many vehicles at once.
//!
//! The entries of one call go into one pack, and every journal moves once, when all of that lasts. Each entry is drawn up as one
//! that is filed alone: from the journal as it is, with its author and its reason.

use std::collections::BTreeMap;

use asfound_core::definition::DefinitionSet;
use asfound_core::history::History;
use asfound_core::names::{EntryNumber, Tag};

use crate::Digest;
use crate::journal::{Before, Draft, Journal, JournalError, Signing};
use crate::store::{Detached, GitStore, Move, Store, StoreError};

/// One vehicle with the entries to file for it, in their order.
pub struct Sheaf<'a, E> {
    /// The vehicle.
    pub tag: Tag,
    /// The entries.
    pub slips: Vec<Slip<'a, E>>,
}

/// Draws up one entry, given the journal as it is then.
pub type DrawUp<'a, E> = Box<dyn Fn(&Before) -> Result<Draft, E> + 'a>;

/// One entry to file.
pub struct Slip<'a, E> {
    /// The SHA-256 of what it is taken from, where it is. An entry that was taken from the same is not filed again.
    pub source: Option<Digest>,
    /// What it is to say.
    pub draw_up: DrawUp<'a, E>,
}

/// What became of one entry.
#[derive(Debug)]
pub enum Outcome<E> {
    /// It is filed.
    Filed(EntryNumber),
    /// It was filed before, as this entry.
    Known(EntryNumber),
    /// Whoever drew it up refused.
    Refused(E),
    /// Its journal cannot be read or added to.
    Failed(JournalError),
}

/// Files entries; hands back what became of each, in the order in which they were given.
///
/// Where another program files for one of the vehicles at the same time, that vehicle's entries are drawn up anew.
///
/// # Errors
/// When the disk refuses. Each journal has then either all of its entries or none.
pub fn file_all<E>(
    store: &GitStore,
    sheaves: &[Sheaf<'_, E>],
    definitions: &dyn Fn(&Tag) -> Result<DefinitionSet, JournalError>,
    signing: Option<Signing<'_>>,
) -> Result<Vec<Vec<Outcome<E>>>, StoreError> {
    let mut outcomes: Vec<Vec<Outcome<E>>> = sheaves.iter().map(|_| Vec::new()).collect();
    let mut left: Vec<usize> = (0..sheaves.len()).collect();
    for _ in 0..20 {
        if left.is_empty() {
            return Ok(outcomes);
        }
        let moved = store.in_one_pack(|beside| {
            let mut moves = Vec::new();
            for at in &left {
                let sheaf = &sheaves[*at];
                let (done, next) = file_one(store, beside, sheaf, definitions, signing);
                outcomes[*at] = done;
                moves.extend(next);
            }
            moves
        })?;
        left.retain(|at| moved.contains(&sheaves[*at].tag));
    }
    for at in left {
        outcomes[at] = sheaves[at]
            .slips
            .iter()
            .map(|_| Outcome::Failed(JournalError::KeepsMoving(sheaves[at].tag.clone())))
            .collect();
    }
    Ok(outcomes)
}

fn file_one<E>(
    store: &GitStore,
    beside: &GitStore,
    sheaf: &Sheaf<'_, E>,
    definitions: &dyn Fn(&Tag) -> Result<DefinitionSet, JournalError>,
    signing: Option<Signing<'_>>,
) -> (Vec<Outcome<E>>, Option<Move>) {
    let begun = store.tip(&sheaf.tag).map_err(JournalError::from).and_then(|from| {
        let entries = match from {
            Some(_) => Journal::new(store, sheaf.tag.clone()).entries()?,
            None => Vec::new(),
        };
        Ok((from, entries, definitions(&sheaf.tag)?))
    });
    let (from, entries, definitions) = match begun {
        Ok(begun) => begun,
        Err(error) => {
            // Said once; the others of this vehicle share its fate.
            let mut outcomes = vec![Outcome::Failed(error)];
            let more = || Outcome::Failed(JournalError::Unfit("its journal cannot be read".to_owned()));
            outcomes.extend(sheaf.slips.iter().skip(1).map(|_| more()));
            outcomes.truncate(sheaf.slips.len());
            return (outcomes, None);
        }
    };
    let mut known: BTreeMap<Digest, EntryNumber> =
        entries.iter().filter_map(|filed| Some((filed.source?, filed.entry.number))).collect();
    let line = Detached::new(beside, &sheaf.tag, from.clone());
    let history = match History::trace(entries.iter().map(|filed| &filed.entry), &definitions) {
        Ok(history) => history,
        Err(error) => {
            let failed = |error: &asfound_core::history::HistoryError| Outcome::Failed(error.clone().into());
            return (sheaf.slips.iter().map(|_| failed(&error)).collect(), None);
        }
    };
    let mut before = Before { entries, definitions, history };
    let mut outcomes = Vec::new();
    for slip in &sheaf.slips {
        if let Some(number) = slip.source.as_ref().and_then(|source| known.get(source)) {
            outcomes.push(Outcome::Known(*number));
            continue;
        }
        let draft = match (slip.draw_up)(&before) {
            Ok(draft) => draft,
            Err(refusal) => {
                outcomes.push(Outcome::Refused(refusal));
                continue;
            }
        };
        let journal = Journal::new(&line, sheaf.tag.clone()).signing(signing).taking_from(slip.source);
        let filed = journal.append_one(&before, draft);
        let filed = filed.and_then(|filed| {
            before.entries.extend(journal.entries_of(std::slice::from_ref(&filed.commit))?);
            Ok(filed)
        });
        match filed {
            Ok(filed) => {
                known.extend(slip.source.map(|source| (source, filed.entry.number)));
                outcomes.push(Outcome::Filed(filed.entry.number));
                before.history = filed.history;
            }
            Err(error) => outcomes.push(Outcome::Failed(error)),
        }
    }
    let to = line.tip(&sheaf.tag).ok().flatten().filter(|to| Some(to) != from.as_ref());
    (outcomes, to.map(|to| Move { tag: sheaf.tag.clone(), from, to }))
}
