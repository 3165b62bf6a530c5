//! Reads the newest entries while the walk along the line, which only one thread can do, is still under way.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::{mem, thread};

use super::commit_line::{CommitLine, LineCommit};
use super::reader::read;
use super::run::AuditOptions;
use super::threads::{Read, TURN};
use crate::sign::AllowedSigners;
use crate::store::{CommitId, Reader, Store, StoreError};

/// How many turns of entries are read ahead at most, which bounds the memory: what is read waits for all that is older.
const MOST: usize = 8;

/// A line, and what was read of it while it was walked.
pub(super) struct ReadCommits {
    pub(super) line: CommitLine,
    /// The newest entries of the line, oldest first.
    pub(super) newest: Vec<Read>,
}

/// Some links in a row, newest first: one more than are read, since each is read beside the one before it.
struct LineChunk {
    number: usize,
    links: Vec<Arc<LineCommit>>,
}

/// Walks the line, and meanwhile lets the other threads, where there may be others, read what it has met.
pub(super) fn walk(
    store: &(impl Store + ?Sized),
    reader: &dyn Reader,
    tip: Result<Option<CommitId>, StoreError>,
    means: AuditOptions<'_>,
) -> ReadCommits {
    let (sender, receiver) = channel();
    let (pieces, is_walked) = (Mutex::new(receiver), AtomicBool::new(false));
    thread::scope(|scope| {
        let mut workers = Vec::new();
        let mut others = (1..means.threads.get()).map_while(|_| store.reader().ok());
        let (mut number, mut links) = (0, Vec::new());
        let line = CommitLine::of(tip, reader, |link| {
            links.push(Arc::clone(link));
            if links.len() > TURN && number < MOST {
                let links = mem::replace(&mut links, vec![Arc::clone(link)]);
                // Where nobody takes it, it is read later.
                let _ = sender.send(LineChunk { number, links });
                number += 1;
                // A short line needs no help.
                for helper in others.by_ref() {
                    let (pieces, is_walked, allowed) = (&pieces, &is_walked, means.allowed);
                    workers.push(scope.spawn(move || work(helper.as_ref(), pieces, is_walked, allowed)));
                }
            }
        });
        is_walked.store(true, Ordering::Relaxed);
        drop(sender);
        let results = workers.into_iter().map(|worker| worker.join().unwrap_or_else(|panic| resume_unwind(panic)));
        let mut read: Vec<(usize, Vec<Read>)> = results.flatten().collect();
        // Pieces are taken in their order, and what was taken is read to its end: there is no gap among them.
        read.sort_unstable_by_key(|(number, _)| *number);
        let newest = read.into_iter().flat_map(|(_, entries)| entries).rev().collect();
        ReadCommits { line, newest }
    })
}

fn work(
    reader: &dyn Reader,
    pieces: &Mutex<Receiver<LineChunk>>,
    is_walked: &AtomicBool,
    allowed: &AllowedSigners,
) -> Vec<(usize, Vec<Read>)> {
    let next = || {
        let pieces = pieces.lock().unwrap_or_else(PoisonError::into_inner);
        if is_walked.load(Ordering::Relaxed) { None } else { pieces.recv().ok() }
    };
    let mut done = Vec::new();
    while let Some(LineChunk { number, links }) = next() {
        let pairs = links.iter().zip(&links[1..]);
        done.push((number, pairs.map(|(link, before)| read(reader, Some(before), link, allowed)).collect()));
    }
    done
}
