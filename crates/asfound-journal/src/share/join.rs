//! Brings one vehicle's journal together with what another place has of it.

use std::cell::RefCell;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::Author;
use asfound_core::names::{EntryNumber, Tag};
use time::OffsetDateTime;

use super::replay::{Renumbered, replay};
use super::{ShareError, SharePlace};
use crate::audit::{AuditOptions, FindingLevel, audit};
use crate::journal::{FiledEntry, Journal, JournalError, Signing};
use crate::renumbering::{EntryMismatch, unlike};
use crate::store::{CommitId, GitStore, StagedLine, Store, StoreError};

/// How often it is tried anew when other programs append in between.
const TRIES: usize = 20;

/// The definitions that explain the bytes in some lines of one vehicle.
pub type Definitions<'a> = dyn Fn(&Tag, &[&[FiledEntry]]) -> Result<DefinitionSet, JournalError> + 'a;

/// What bringing journals together takes.
pub struct Sharing<'a> {
    /// The journals here.
    pub store: &'a GitStore,
    /// What was fetched from the other place, with the journals here behind it.
    pub incoming: &'a GitStore,
    /// The other place.
    pub place: &'a SharePlace,
    /// What the entries there are audited with.
    pub means: AuditOptions<'a>,
    /// The key with which entries that are drawn up anew are signed.
    pub signing: Option<Signing<'a>>,
    /// Who brings them together.
    pub by: &'a Author,
    /// When.
    pub now: OffsetDateTime,
    /// Random bits for the blind of an entry.
    pub blind: &'a dyn Fn() -> Result<[u8; 32], JournalError>,
    /// The definitions that explain the bytes in some lines of one vehicle.
    pub definitions: &'a Definitions<'a>,
    /// Whether entries here that do not follow are set aside.
    pub set_aside: bool,
}

/// What bringing a journal together came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JoinOutcome {
    /// The last commit here.
    pub tip: CommitId,
    /// How many entries came from there.
    pub received: usize,
    /// How many entries are here and not there yet.
    pub sends: usize,
    /// The entries that stand behind others now: the number each had, and the one it has.
    pub renumbered: Renumbered,
    /// Entries that were set aside: they are kept beside the journal and no longer in it.
    pub set_aside: Vec<EntryNumber>,
}

/// Keeps lines beside the journal of a vehicle that were examined and taken over. They are only ever added.
///
/// # Errors
/// When the references cannot be written.
pub fn keep(store: &GitStore, tag: &Tag, lines: &[CommitId]) -> Result<(), StoreError> {
    lines.iter().try_for_each(|line| store.keep(tag, line))
}

/// Brings the journal of `tag` here together with what the place has of it, which was examined and taken over.
///
/// # Errors
/// Why it is not brought together; it is then as it was.
pub fn join(sharing: &Sharing<'_>, tag: &Tag, there: Option<&CommitId>) -> Result<JoinOutcome, ShareError> {
    for _ in 0..TRIES {
        match once(sharing, tag, there) {
            Err(ShareError::Journal(JournalError::Store(StoreError::Moved { .. }))) => {}
            other => return other,
        }
    }
    Err(JournalError::KeepsMoving(tag.clone()).into())
}

fn once(sharing: &Sharing<'_>, tag: &Tag, there: Option<&CommitId>) -> Result<JoinOutcome, ShareError> {
    let store = sharing.store;
    let seen = sharing.place.seen(store)?.remove(tag);
    let here = store.tip(tag)?;
    let Some(there) = there else {
        return match (seen, here) {
            (Some(_), _) => Err(ShareError::Gone(tag.clone())),
            (None, Some(here)) => only_here(store, here),
            (None, None) => Err(JournalError::NoVehicle(tag.clone()).into()),
        };
    };
    if here.as_ref() == Some(there) {
        return Ok(JoinOutcome::at(there.clone()));
    }
    if let Some(seen) = &seen {
        not_rewritten(store, tag, seen, there)?;
    }
    let theirs = store.line_to(there)?;
    let Some(here) = here else {
        store.move_branch(tag, None, there)?;
        return Ok(JoinOutcome { received: theirs.len(), ..JoinOutcome::at(there.clone()) });
    };
    let ours = store.line_to(&here)?;
    let shared = ours.iter().zip(&theirs).take_while(|(a, b)| a == b).count();
    if shared == theirs.len() {
        return Ok(JoinOutcome { sends: ours.len() - shared, ..JoinOutcome::at(here) });
    }
    if shared == 0 {
        return Err(ShareError::StartedApart(tag.clone()));
    }
    if shared == ours.len() {
        store.move_branch(tag, Some(&here), there)?;
        return Ok(JoinOutcome { received: theirs.len() - shared, ..JoinOutcome::at(there.clone()) });
    }
    apart(sharing, tag, (&here, &ours), (there, &theirs), shared)
}

/// Both have gone on since the last entry that they share.
fn apart(
    sharing: &Sharing<'_>,
    tag: &Tag,
    (here, ours): (&CommitId, &[CommitId]),
    (there, theirs): (&CommitId, &[CommitId]),
    shared: usize,
) -> Result<JoinOutcome, ShareError> {
    let store = sharing.store;
    let journal = Journal::new(store, tag.clone());
    let (ours, entries) = (journal.entries_of(ours)?, journal.entries_of(theirs)?);
    let wrong = unlike(&ours, &entries);
    if let Some((number, EntryMismatch::SaysOtherwise(there))) =
        wrong.iter().find(|(_, how)| *how != EntryMismatch::Absent)
    {
        return Err(ShareError::SaysOtherwise { tag: tag.clone(), number: *number, there: *there });
    }
    let received = theirs.len() - shared;
    let absent: Vec<EntryNumber> = wrong.into_iter().map(|(number, _)| number).collect();
    if absent.is_empty() {
        // Everything here stands there already, behind entries of others.
        store.move_branch(tag, Some(here), there)?;
        return Ok(JoinOutcome { received, ..JoinOutcome::at(there.clone()) });
    }
    let fresh = RefCell::default();
    let beside = StagedLine::new(store, &fresh, tag, Some(there.clone()));
    let definitions = (sharing.definitions)(tag, &[&ours, &entries])?;
    let renumbered = match replay(sharing, tag, &ours, entries, &definitions, &beside) {
        Err(ShareError::DoesNotFollow { .. }) if sharing.set_aside => {
            store.move_branch(tag, Some(here), there)?;
            return Ok(JoinOutcome { received, set_aside: absent, ..JoinOutcome::at(there.clone()) });
        }
        other => other?,
    };
    let tip = beside.tip(tag)?.ok_or_else(|| JournalError::NoVehicle(tag.clone()))?;
    beside.write()?;
    // Before the journal ends with it, it is verified as any other.
    sound_line(sharing, &beside, tag)?;
    store.move_branch(tag, Some(here), &tip)?;
    Ok(JoinOutcome { received, sends: renumbered.len(), renumbered, ..JoinOutcome::at(tip) })
}

impl JoinOutcome {
    fn at(tip: CommitId) -> Self {
        Self { tip, received: 0, sends: 0, renumbered: Vec::new(), set_aside: Vec::new() }
    }
}

fn only_here(store: &GitStore, here: CommitId) -> Result<JoinOutcome, ShareError> {
    Ok(JoinOutcome { sends: store.line_to(&here)?.len(), ..JoinOutcome::at(here) })
}

/// That everything the place was seen to have is still there: as it was, or, where the place itself has brought journals
/// together, behind other entries.
pub(super) fn not_rewritten(store: &GitStore, tag: &Tag, seen: &CommitId, there: &CommitId) -> Result<(), ShareError> {
    let (seen, there) = (store.line_to(seen)?, store.line_to(there)?);
    if there.starts_with(&seen) {
        return Ok(());
    }
    let journal = Journal::new(store, tag.clone());
    match unlike(&journal.entries_of(&seen)?, &journal.entries_of(&there)?).first() {
        None => Ok(()),
        Some((number, _)) => Err(ShareError::Rewritten { tag: tag.clone(), number: *number }),
    }
}

pub(super) fn sound_line(sharing: &Sharing<'_>, line: &StagedLine<'_>, tag: &Tag) -> Result<(), ShareError> {
    let audited = audit(line, tag, sharing.means, &mut |_| {})?;
    match audited.findings.into_iter().find(|finding| FindingLevel::costs_trust(finding.level)) {
        None => Ok(()),
        Some(finding) => Err(ShareError::Unsound { tag: tag.clone(), finding: Box::new(finding) }),
    }
}
