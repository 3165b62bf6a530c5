//! Files many entries of many vehicles at once.
//!
//! The entries of one call go into one pack, and every journal moves once, when all of that lasts. Each entry is drawn up as one
//! that is filed alone: from the journal as it is, with its author and its reason.

use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::BTreeMap;

use asfound_core::definition::DefinitionSet;
use asfound_core::history::{History, HistoryBuilder};
use asfound_core::names::{EntryNumber, Tag};

use crate::Digest;
use crate::journal::{AppendBase, Basis, EntryDraft, EntryIndex, FiledEntry, Journal, JournalError, Signing, Snapshot};
use crate::store::{GitStore, JournalMove, PendingObjects, StagedLine, Store, StoreError};

/// One vehicle with the entries to file for it, in their order.
pub struct VehicleBatch<'a, E> {
    /// The vehicle.
    pub tag: Tag,
    /// The entries.
    pub slips: Vec<BatchEntry<'a, E>>,
}

/// Draws up one entry, given the journal as it is then.
pub type DrawUp<'a, E> = Box<dyn Fn(&Snapshot) -> Result<EntryDraft, E> + 'a>;

/// One entry to file.
pub struct BatchEntry<'a, E> {
    /// The SHA-256 of what it is taken from, where it is. An entry that was taken from the same is not filed again.
    pub source: Option<Digest>,
    /// What it is to say.
    pub draw_up: DrawUp<'a, E>,
}

/// What became of one entry.
#[derive(Debug)]
pub enum BatchOutcome<E> {
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
    sheaves: &[VehicleBatch<'_, E>],
    definitions: &dyn Fn(&Tag) -> Result<DefinitionSet, JournalError>,
    signing: Option<Signing<'_>>,
) -> Result<Vec<Vec<BatchOutcome<E>>>, StoreError> {
    let mut outcomes: Vec<Vec<BatchOutcome<E>>> = sheaves.iter().map(|_| Vec::new()).collect();
    let mut left: Vec<usize> = (0..sheaves.len()).collect();
    for _ in 0..20 {
        if left.is_empty() {
            return Ok(outcomes);
        }
        let moved = store.in_one_pack(|fresh| {
            let mut moves = Vec::new();
            for at in &left {
                let vehicle = &sheaves[*at];
                let (done, next) = file_one(store, fresh, vehicle, definitions, signing);
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
            .map(|_| BatchOutcome::Failed(JournalError::KeepsMoving(sheaves[at].tag.clone())))
            .collect();
    }
    Ok(outcomes)
}

fn file_one<E>(
    store: &GitStore,
    fresh: &RefCell<PendingObjects>,
    vehicle: &VehicleBatch<'_, E>,
    definitions: &dyn Fn(&Tag) -> Result<DefinitionSet, JournalError>,
    signing: Option<Signing<'_>>,
) -> (Vec<BatchOutcome<E>>, Option<JournalMove>) {
    let begun =
        store.tip(&vehicle.tag).map_err(JournalError::from).and_then(|from| Ok((from, definitions(&vehicle.tag)?)));
    let (from, definitions) = match begun {
        Ok(begun) => begun,
        Err(error) => return (failed(vehicle, error), None),
    };
    let so_far = match so_far(&Journal::new(store, vehicle.tag.clone()), from.is_some(), &definitions) {
        Ok(so_far) => so_far,
        Err(error) => return (failed(vehicle, error), None),
    };
    let InitialJournal { index, mut known, mut tracing, last, history } = so_far;
    let line = StagedLine::new(store, fresh, &vehicle.tag, from.clone());
    let (index, history) = (Cow::Owned(index), Cow::Owned(history));
    let mut before = Snapshot { index, last, definitions: &definitions, history };
    let mut outcomes = Vec::new();
    for entry in &vehicle.slips {
        if let Some(number) = entry.source.as_ref().and_then(|source| known.get(source)) {
            outcomes.push(BatchOutcome::Known(*number));
            continue;
        }
        let draft = match (entry.draw_up)(&before) {
            Ok(draft) => draft,
            Err(refusal) => {
                outcomes.push(BatchOutcome::Refused(refusal));
                continue;
            }
        };
        let journal = Journal::new(&line, vehicle.tag.clone()).signing(signing).taking_from(entry.source);
        let (state, last) = (before.history.state(), before.last.as_ref());
        let under = AppendBase { state, last, place: None, definitions: &definitions };
        let filed = journal.append_one(under, tracing.clone(), draft);
        let filed = filed.and_then(|filed| {
            let there = journal.entry_at(&filed.commit)?;
            tracing.entry(&there.entry)?;
            Ok((filed, there))
        });
        match filed {
            Ok((filed, there)) => {
                known.extend(entry.source.map(|source| (source, filed.entry.number)));
                outcomes.push(BatchOutcome::Filed(filed.entry.number));
                before.index.to_mut().push(&there);
                before.last = Some(there);
                before.history = Cow::Owned(filed.history);
            }
            Err(error) => outcomes.push(BatchOutcome::Failed(error)),
        }
    }
    let to = line.tip(&vehicle.tag).ok().flatten().filter(|to| Some(to) != from.as_ref());
    (outcomes, to.map(|to| JournalMove { tag: vehicle.tag.clone(), from, to }))
}

/// A journal as it is before anything is filed.
struct InitialJournal<'d> {
    index: EntryIndex,
    /// The entries that were taken from something, by its SHA-256.
    known: BTreeMap<Digest, EntryNumber>,
    tracing: HistoryBuilder<'d>,
    last: Option<FiledEntry>,
    history: History,
}

/// Goes through a journal, where there is one. What the index tells of it is held against it.
fn so_far<'d>(
    journal: &Journal<'_, GitStore>,
    exists: bool,
    definitions: &'d DefinitionSet,
) -> Result<InitialJournal<'d>, JournalError> {
    let index = if exists { journal.followed(definitions)?.0 } else { EntryIndex::default() };
    let so_far = gone_through(journal, index, definitions)?;
    if journal.confirms(&so_far.index, so_far.history.state(), definitions, &Basis::default())? {
        return Ok(so_far);
    }
    journal.disown_index();
    gone_through(journal, journal.index()?, definitions)
}

fn gone_through<'d>(
    journal: &Journal<'_, GitStore>,
    index: EntryIndex,
    definitions: &'d DefinitionSet,
) -> Result<InitialJournal<'d>, JournalError> {
    let (mut known, mut tracing, mut last) = (BTreeMap::new(), HistoryBuilder::new(definitions), None);
    for filed in journal.each(&index) {
        let filed = filed?;
        tracing.entry(&filed.entry)?;
        known.extend(filed.source.map(|source| (source, filed.entry.number)));
        last = Some(filed);
    }
    let history = tracing.clone().finish();
    Ok(InitialJournal { index, known, tracing, last, history })
}

/// That nothing can be filed for a vehicle: said once, the others of this vehicle share its fate.
fn failed<E>(vehicle: &VehicleBatch<'_, E>, error: JournalError) -> Vec<BatchOutcome<E>> {
    let mut outcomes = vec![BatchOutcome::Failed(error)];
    let more = || BatchOutcome::Failed(JournalError::Unfit("its journal cannot be read".to_owned()));
    outcomes.extend(vehicle.slips.iter().skip(1).map(|_| more()));
    outcomes.truncate(vehicle.slips.len());
    outcomes
}
