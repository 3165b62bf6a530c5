//! Reads the entries in several threads, and hands them over in their order.

use std::num::NonZero;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread;

use super::commit_line::LineCommit;
use super::reader::{EntryFiles, read};
use crate::sign::AllowedSigners;
use crate::store::{Reader, StoreError};

/// How many entries a thread reads before the next thread's turn: enough that old contents, which a pack keeps as
/// differences from each other, are found where the thread has just been.
pub(super) const TURN: usize = 64;
/// How many turns a thread may be ahead, which bounds the memory.
const AHEAD: usize = 2;

pub(super) type Read = Result<EntryFiles, StoreError>;

/// Reads every entry and hands it to `take`, oldest first: by `helpers` in a thread each, where there are any.
pub(super) fn read_all(
    reader: &dyn Reader,
    helpers: Vec<Box<dyn Reader>>,
    links: &[Arc<LineCommit>],
    allowed: &AllowedSigners,
    mut take: impl FnMut(&LineCommit, Read),
) {
    if helpers.is_empty() {
        for at in 0..links.len() {
            take(&links[at], read_one(reader, links, at, allowed));
        }
        return;
    }
    let (count, turns) = (helpers.len(), links.len().div_ceil(TURN));
    thread::scope(|scope| {
        let mut queues: Vec<Receiver<Vec<Read>>> = Vec::new();
        for (index, helper) in helpers.into_iter().enumerate() {
            let (sender, receiver) = sync_channel(AHEAD);
            queues.push(receiver);
            scope.spawn(move || work(helper.as_ref(), links, allowed, (index..turns).step_by(count), &sender));
        }
        for turn in 0..turns {
            // A thread ends early only by a panic, which the scope hands on.
            let Ok(entries) = queues[turn % count].recv() else { break };
            for (entry, link) in entries.into_iter().zip(&links[turn * TURN..]) {
                take(link, entry);
            }
        }
    });
}

/// How many helpers are worth while for so many entries: none where one thread does as well.
pub(super) fn worth_while(entries: usize, threads: NonZero<usize>) -> usize {
    let helpers = threads.get().min(entries.div_ceil(TURN));
    if helpers > 1 { helpers } else { 0 }
}

fn work(
    reader: &dyn Reader,
    links: &[Arc<LineCommit>],
    allowed: &AllowedSigners,
    turns: impl Iterator<Item = usize>,
    to: &SyncSender<Vec<Read>>,
) {
    for turn in turns {
        let entries = turn * TURN..links.len().min((turn + 1) * TURN);
        if to.send(entries.map(|at| read_one(reader, links, at, allowed)).collect()).is_err() {
            break;
        }
    }
}

fn read_one(reader: &dyn Reader, links: &[Arc<LineCommit>], at: usize, allowed: &AllowedSigners) -> Read {
    let before = at.checked_sub(1).map(|before| links[before].as_ref());
    read(reader, before, &links[at], allowed)
}
