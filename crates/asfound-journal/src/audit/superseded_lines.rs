//! The lines that are kept beside a journal, and the entries that stood in them before.

use std::collections::{BTreeSet, HashSet};

use asfound_core::names::{EntryNumber, Tag};

use super::run::{AuditOptions, audit_line};
use super::{Audit, Finding, FindingKind};
use crate::Digest;
use crate::journal::{FiledEntry, Journal, JournalError};
use crate::renumbering::{Counterparts, EntryMismatch, unlike};
use crate::sign::Signer;
use crate::store::{BlobId, Commit, CommitId, NewCommit, Reader, Store, StoreError};

/// A line in which entries stood before the journal went on in another way. Every entry of it stands in the journal, with all
/// that it says, though some behind entries of others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SupersededLine {
    /// The hash of each entry's leaf, from the first on.
    pub leaves: Vec<Digest>,
    /// How many entries, from the first on, stand in the journal as they stand here.
    pub shared: u64,
    /// Where each entry stands in the journal.
    pub places: Vec<EntryNumber>,
}

impl SupersededLine {
    /// The entries of the journal that stand between the first so many of this line and are none of them.
    pub(super) fn between(&self, sealed: u64) -> impl Iterator<Item = EntryNumber> {
        let sealed = usize::try_from(sealed).unwrap_or(usize::MAX).min(self.places.len());
        let places: BTreeSet<EntryNumber> = self.places[..sealed].iter().copied().collect();
        let last = places.last().map_or(0, |last| last.get());
        (1..=last).filter_map(EntryNumber::new).filter(move |number| !places.contains(number))
    }
}

/// Looks at the lines that are kept beside a journal which is sound itself.
pub(super) fn check<S: Store + ?Sized>(store: &S, tag: &Tag, means: AuditOptions<'_>, audit: &mut Audit) {
    let kept = match store.kept(tag) {
        Ok(kept) => kept,
        Err(error) => return audit.findings.push(finding(None, None, FindingKind::KeptUnread(error.to_string()))),
    };
    if kept.is_empty() && !audit.replayed {
        return;
    }
    let ending = |tip: Option<CommitId>| LineStore { store, tag: tag.clone(), tip };
    let entries_of = |ending: &LineStore<'_, S>| Journal::new(ending, tag.clone()).entries();
    let whole = store.tip(tag).map_err(JournalError::from).and_then(|tip| entries_of(&ending(tip)));
    let Ok(journal) = whole else { return };
    // Where each entry that stood elsewhere stands there, by what is kept.
    let mut stood: HashSet<(CommitId, EntryNumber)> = HashSet::new();
    let mut otherwise: HashSet<EntryNumber> = HashSet::new();
    for tip in kept {
        let line = ending(Some(tip.clone()));
        let audited = audit_line(&line, tag, means, &mut |_| {});
        let entries = match (audited, entries_of(&line)) {
            (Ok(audited), Ok(entries)) if audited.is_sound() => (audited, entries),
            (Ok(audited), _) => {
                let why = audited.findings.first().map(ToString::to_string).unwrap_or_default();
                audit.findings.push(finding(None, Some(&tip), FindingKind::KeptUnread(why)));
                continue;
            }
            (Err(error), _) => {
                audit.findings.push(finding(None, Some(&tip), FindingKind::KeptUnread(error.to_string())));
                continue;
            }
        };
        let (audited, entries) = entries;
        let shared = entries.iter().zip(&journal).take_while(|(a, b)| a.commit == b.commit).count();
        stood.extend(entries.iter().skip(shared).map(|filed| (filed.commit.clone(), filed.entry.number)));
        let wrong = unlike(&entries, &journal);
        otherwise.extend(wrong.iter().filter_map(|(_, how)| match how {
            EntryMismatch::SaysOtherwise(number) => Some(*number),
            EntryMismatch::Absent => None,
        }));
        let absent: Vec<EntryNumber> =
            wrong.iter().filter(|(_, how)| *how == EntryMismatch::Absent).map(|(number, _)| *number).collect();
        if let (Some(first), Some(last)) = (absent.first(), absent.last()) {
            let kind = FindingKind::KeptAside { first: *first, last: *last };
            audit.findings.push(finding(None, Some(&tip), kind));
        }
        if wrong.is_empty() {
            let counterparts = Counterparts::of(&entries, &journal);
            let places = entries.iter().filter_map(|filed| counterparts.number(filed.entry.number)).collect();
            audit.kept.push(SupersededLine { leaves: audited.leaves, shared: shared as u64, places });
        }
    }
    for filed in &journal {
        check_entry(filed, &stood, &otherwise, audit);
    }
}

fn check_entry(
    filed: &FiledEntry,
    stood: &HashSet<(CommitId, EntryNumber)>,
    otherwise: &HashSet<EntryNumber>,
    audit: &mut Audit,
) {
    let number = filed.entry.number;
    if otherwise.contains(&number) {
        audit.findings.push(finding(Some(number), Some(&filed.commit), FindingKind::ReplayedOtherwise));
        let lost = audit.lost_from.map_or(number, |lost| lost.min(number));
        audit.lost_from = Some(lost);
        audit.sound_until = EntryNumber::new(lost.get() - 1);
    } else if let Some(before) = &filed.replayed
        && !stood.contains(&(before.commit.clone(), before.number))
    {
        let kind = FindingKind::ReplayedFrom { number: before.number };
        audit.findings.push(finding(Some(number), Some(&filed.commit), kind));
    }
}

fn finding(entry: Option<EntryNumber>, commit: Option<&CommitId>, what: FindingKind) -> Finding {
    Finding::new(entry, commit, what)
}

/// A store whose journal of one vehicle ends with another commit.
struct LineStore<'s, S: ?Sized> {
    store: &'s S,
    tag: Tag,
    tip: Option<CommitId>,
}

impl<S: Store + ?Sized> Store for LineStore<'_, S> {
    fn tags(&self) -> Result<Vec<Tag>, StoreError> {
        Ok(vec![self.tag.clone()])
    }

    fn tip(&self, _: &Tag) -> Result<Option<CommitId>, StoreError> {
        Ok(self.tip.clone())
    }

    fn parent(&self, id: &CommitId) -> Result<Option<CommitId>, StoreError> {
        self.store.parent(id)
    }

    fn commit(&self, id: &CommitId) -> Result<Commit, StoreError> {
        self.store.commit(id)
    }

    fn commit_text(&self, id: &CommitId) -> Result<Vec<u8>, StoreError> {
        self.store.commit_text(id)
    }

    fn read(&self, blob: &BlobId) -> Result<Vec<u8>, StoreError> {
        self.store.read(blob)
    }

    fn file(&self, commit: &CommitId, path: &str) -> Result<Vec<u8>, StoreError> {
        self.store.file(commit, path)
    }

    fn line(&self, _: &Tag) -> Result<Vec<CommitId>, StoreError> {
        self.tip.as_ref().map_or(Ok(Vec::new()), |tip| self.store.line_to(tip))
    }

    fn line_to(&self, tip: &CommitId) -> Result<Vec<CommitId>, StoreError> {
        self.store.line_to(tip)
    }

    fn reader(&self) -> Result<Box<dyn Reader>, StoreError> {
        self.store.reader()
    }

    fn append_all(
        &self,
        tag: &Tag,
        expected: Option<&CommitId>,
        _: &[NewCommit],
        _: Option<&dyn Signer>,
    ) -> Result<Vec<CommitId>, StoreError> {
        // Nothing is ever appended to a line that was kept.
        Err(StoreError::Moved { tag: tag.clone(), expected: expected.cloned(), found: self.tip.clone() })
    }
}
