//! Looks at what a place has before anything of it is taken over.

use std::cell::RefCell;
use std::collections::HashSet;

use asfound_core::names::Tag;

use super::join::{not_rewritten, sound_line};
use super::{ShareError, Sharing};
use crate::journal::Journal;
use crate::store::{CommitId, GitStore, StagedLine, Store};

/// The lines of one vehicle that were fetched, found in order, and are to be taken over.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Examined {
    /// The end of its journal there, where that has anything that is not here.
    pub journal: Option<CommitId>,
    /// The ends of kept lines that its journal names.
    pub kept: Vec<CommitId>,
}

/// Examines what was fetched of one vehicle; `offered` are the kept lines that the place has of it. Nothing is written here.
///
/// # Errors
/// Why nothing of it is taken over.
pub fn examine(
    sharing: &Sharing<'_>,
    tag: &Tag,
    there: Option<&CommitId>,
    offered: &[CommitId],
) -> Result<Examined, ShareError> {
    let (here, incoming) = (sharing.store, sharing.incoming);
    let Some(there) = there else { return Ok(Examined::default()) };
    let tip = here.tip(tag)?;
    if tip.as_ref() == Some(there) {
        return Ok(Examined { journal: None, kept: kept(sharing, tag, there, offered)? });
    }
    if let Some(seen) = sharing.place.seen(here)?.remove(tag) {
        not_rewritten(incoming, tag, &seen, there)?;
    }
    if let Some(tip) = tip {
        let (ours, theirs) = (here.line_to(&tip)?, incoming.line_to(there)?);
        let shared = ours.iter().zip(&theirs).take_while(|(a, b)| a == b).count();
        if shared == 0 {
            return Err(ShareError::StartedApart(tag.clone()));
        }
        if shared == theirs.len() {
            return Ok(Examined { journal: None, kept: kept(sharing, tag, there, offered)? });
        }
    }
    let kept = kept(sharing, tag, there, offered)?;
    for line in &kept {
        // So that the audit of the journal finds what its entries name.
        incoming.keep(tag, line)?;
    }
    sound(sharing, tag, there)?;
    Ok(Examined { journal: Some(there.clone()), kept })
}

/// That a line which came from elsewhere is sound, before anything is built upon it.
pub(super) fn sound(sharing: &Sharing<'_>, tag: &Tag, tip: &CommitId) -> Result<(), ShareError> {
    sound_line(sharing, &StagedLine::new(sharing.incoming, &RefCell::default(), tag, Some(tip.clone())), tag)
}

/// The kept lines that are not here yet, that entries of the journal stood in before, and that are sound. Others are
/// passed over: nothing rests on them.
fn kept(sharing: &Sharing<'_>, tag: &Tag, there: &CommitId, offered: &[CommitId]) -> Result<Vec<CommitId>, ShareError> {
    let incoming = sharing.incoming;
    if offered.is_empty() {
        return Ok(Vec::new());
    }
    let known: HashSet<CommitId> = sharing.store.kept(tag)?.into_iter().collect();
    let journal: Vec<CommitId> = incoming.line_to(there)?;
    let mut named: HashSet<CommitId> = HashSet::new();
    for commit in &journal {
        // An entry that cannot be read is told of by the audit.
        let filed = Journal::new(incoming, tag.clone()).entry_at(commit).ok();
        named.extend(filed.and_then(|filed| filed.replayed).map(|stood| stood.commit));
    }
    let journal: HashSet<CommitId> = journal.into_iter().collect();
    let mut kept = Vec::new();
    for tip in offered.iter().filter(|tip| !known.contains(tip)) {
        if is_named(incoming, tip, &named, &journal) && sound(sharing, tag, tip).is_ok() {
            kept.push(tip.clone());
        }
    }
    Ok(kept)
}

/// Whether entries of the journal stood in this line before. It parts from the journal somewhere, and has no more entries
/// than that.
fn is_named(incoming: &GitStore, tip: &CommitId, named: &HashSet<CommitId>, journal: &HashSet<CommitId>) -> bool {
    let mut next = Some(tip.clone());
    for _ in 0..=journal.len() {
        match next {
            Some(id) if named.contains(&id) => return true,
            Some(id) if !journal.contains(&id) => next = incoming.parent(&id).ok().flatten(),
            _ => return false,
        }
    }
    false
}
