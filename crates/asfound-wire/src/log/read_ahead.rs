//! Reading on one thread while another takes what was read.

use std::io::Read;
use std::sync::mpsc::{Receiver, SyncSender, channel, sync_channel};
use std::thread;

use super::read::read_into;
use super::sink::Sink;
use super::skip_ids::SkipIds;
use super::{LogError, LogFacts, LogItem, LogProblem};
use crate::frame::{CanFrame, Interface};
use crate::ip::IpMessage;

/// As many parcels are on their way at once, and as many items are in one at most.
const PARCELS: usize = 4;
const MOST_ITEMS: usize = 1 << 10;

/// [`read_log_passing_over`](super::read_log_passing_over) with a second thread that reads ahead: the same items in the same
/// order, `take` called on this thread. Keeps no more of the log than a few blocks.
pub fn read_log_ahead<R: Read + Send>(
    reader: R,
    ordinary: &SkipIds,
    mut take: impl FnMut(LogItem<'_>),
) -> Result<LogFacts, LogError> {
    let (full, arriving) = sync_channel(PARCELS);
    let (give_back, empty) = channel();
    thread::scope(|scope| {
        let reading = scope.spawn(move || {
            let mut sender = Sender { parcel: Vec::new(), full, empty };
            let read = read_into(reader, ordinary, &mut sender);
            sender.pause();
            read
        });
        for mut parcel in arriving {
            parcel.drain(..).for_each(|item: Item| item.give(&mut take));
            // Whoever reads may be through already.
            let _ = give_back.send(parcel);
        }
        reading.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
    })
}

/// An item that owns what it has.
#[derive(Debug)]
enum Item {
    Frame(CanFrame),
    Ordinary(u64),
    Bus(Interface, String),
    Ip(IpMessage),
    Problem(LogProblem),
}

impl Item {
    #[inline]
    fn give(self, take: &mut impl FnMut(LogItem<'_>)) {
        match self {
            Self::Frame(frame) => take(LogItem::Frame(&frame)),
            Self::Ordinary(count) => take(LogItem::Ordinary(count)),
            Self::Bus(interface, name) => take(LogItem::Bus(interface, name)),
            Self::Ip(message) => take(LogItem::Ip(message)),
            Self::Problem(problem) => take(LogItem::Problem(problem)),
        }
    }
}

/// Packs items and sends them.
struct Sender {
    parcel: Vec<Item>,
    full: SyncSender<Vec<Item>>,
    empty: Receiver<Vec<Item>>,
}

impl Sink for Sender {
    fn item(&mut self, item: LogItem<'_>) {
        self.parcel.push(match item {
            LogItem::Frame(frame) => Item::Frame(frame.clone()),
            LogItem::Ordinary(count) => Item::Ordinary(count),
            LogItem::Bus(interface, name) => Item::Bus(interface, name),
            LogItem::Ip(message) => Item::Ip(message),
            LogItem::Problem(problem) => Item::Problem(problem),
        });
        if self.parcel.len() >= MOST_ITEMS {
            self.pause();
        }
    }

    fn pause(&mut self) {
        if !self.parcel.is_empty() {
            let next = self.empty.try_recv().unwrap_or_default();
            // Nobody takes anything any more only where taking panicked, and that is told at the other end.
            let _ = self.full.send(std::mem::replace(&mut self.parcel, next));
        }
    }
}
