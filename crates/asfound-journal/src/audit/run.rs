//! The audit of one journal, from its first entry to its last.

use asfound_core::names::Tag;

use super::Audit;
use super::entry::Auditor;
use super::line::Line;
use crate::journal::JournalError;
use crate::store::Store;

/// How far an audit is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Entries that were checked.
    pub checked: usize,
    /// All entries that can be reached.
    pub total: usize,
}

/// Verifies every entry of the journal of `tag`; `progress` is told after each.
///
/// Whatever is wrong, and whatever cannot be read, is a finding and not an error. The work grows with the entries and with
/// what changed in each, not with what the vehicle has: a file that an entry left as it was is not read again.
///
/// # Errors
/// Only when the vehicle has no journal.
pub fn audit<S: Store + ?Sized>(
    store: &S,
    tag: &Tag,
    progress: &mut dyn FnMut(Progress),
) -> Result<Audit, JournalError> {
    let line = Line::of(store, tag);
    if line.commits.is_empty() && line.severed.is_none() {
        return Err(JournalError::NoVehicle(tag.clone()));
    }
    let total = line.commits.len();
    let mut auditor = Auditor::new(store, tag, line.severed);
    for (index, commit) in line.commits.iter().enumerate() {
        auditor.entry(commit);
        progress(Progress { checked: index + 1, total });
    }
    Ok(auditor.finish())
}
