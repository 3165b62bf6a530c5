//! The audit of one journal, from its first entry to its last.

use std::num::NonZero;

use asfound_core::names::Tag;

use super::commit_line::{CommitLine, LineCommit};
use super::entry::Auditor;
use super::files::unread;
use super::read_ahead::{ReadCommits, walk};
use super::reader::read;
use super::superseded_lines;
use super::threads::{Read, read_all, worth_while};
use super::{Audit, Finding, FindingKind};
use crate::index::IndexComparison;
use crate::journal::{Journal, JournalError};
use crate::sign::AllowedSigners;
use crate::store::Store;

/// How far an audit is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Entries that were checked.
    pub checked: usize,
    /// All entries that can be reached.
    pub total: usize,
}

/// What an audit is made with.
#[derive(Debug, Clone, Copy)]
pub struct AuditOptions<'a> {
    /// The keys that are trusted.
    pub allowed: &'a AllowedSigners,
    /// How many threads may read.
    pub threads: NonZero<usize>,
}

/// Verifies every entry of the journal of `tag`; `progress` is told after each entry.
///
/// Whatever is wrong, and whatever cannot be read, is a finding and not an error. The work grows with the entries and with
/// what changed in each, not with what the vehicle has: a file that an entry left as it was is not read again.
///
/// # Errors
/// Only when the vehicle has no journal.
pub fn audit(
    store: &impl Store,
    tag: &Tag,
    means: AuditOptions<'_>,
    progress: &mut dyn FnMut(Progress),
) -> Result<Audit, JournalError> {
    let mut audit = audit_line(store, tag, means, progress)?;
    if audit.is_sound() {
        superseded_lines::check(store, tag, means, &mut audit);
    }
    match store.oddities() {
        Ok(oddities) => {
            audit.findings.extend(oddities.into_iter().map(|oddity| Finding::new(None, None, oddity.into())));
        }
        Err(error) => audit.findings.push(Finding::new(None, None, unread(error, None))),
    }
    if let Some(folder) = store.index().filter(|_| audit.has(&FindingKind::Index)) {
        folder.throw_away(tag);
        // It is made anew where that can be done; no command needs it.
        let _ = Journal::new(store, tag.clone()).index();
    }
    Ok(audit)
}

/// The same of the journal's own line alone.
pub(super) fn audit_line(
    store: &(impl Store + ?Sized),
    tag: &Tag,
    means: AuditOptions<'_>,
    progress: &mut dyn FnMut(Progress),
) -> Result<Audit, JournalError> {
    // Asked before the reader is there, which lets go of what the store itself has read.
    let tip = store.tip(tag);
    let reader = match store.reader() {
        Ok(reader) => reader,
        Err(error) => return Ok(Auditor::new(tag, Some(error)).finish()),
    };
    let ReadCommits { line: CommitLine { links, severed }, newest } = walk(store, reader.as_ref(), tip, means);
    if links.is_empty() && severed.is_none() {
        return Err(JournalError::NoVehicle(tag.clone()));
    }
    let (rest, ahead) = links.split_at(links.len().saturating_sub(newest.len()));
    // Where no more handles on the store are to be had, fewer will do.
    let helpers = (0..worth_while(rest.len(), means.threads)).map_while(|_| store.reader().ok()).collect();
    let (mut checked, total) = (0, links.len());
    let mut auditor = Auditor::new(tag, severed).beside(IndexComparison::begin(store.index(), tag));
    let mut take = |link: &LineCommit, turned: Read| {
        let turned = match turned {
            // What it has otherwise than the entry before says nothing where that could not be read.
            Ok(turned) if auditor.is_lost() && !turned.whole => read(reader.as_ref(), None, link, means.allowed),
            turned => turned,
        };
        auditor.entry(link, turned);
        checked += 1;
        progress(Progress { checked, total });
    };
    read_all(reader.as_ref(), helpers, rest, means.allowed, &mut take);
    for (link, turned) in ahead.iter().zip(newest) {
        take(link, turned);
    }
    Ok(auditor.finish())
}
