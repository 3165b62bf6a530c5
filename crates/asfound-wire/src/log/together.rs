//! Several logs of one piece of work, read as one.

use std::collections::VecDeque;
use std::io::Read;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread;

use super::read::read_into;
use super::sink::Sink;
use super::skip_ids::SkipIds;
use super::{LogError, LogFacts, LogItem, LogProblem};
use crate::frame::{CanFrame, Interface, Interfaces, Timestamp};
use crate::ip::IpMessage;

/// As many parcels of one log are on their way at once, and as many items are in one at most.
const PARCELS: usize = 2;
const MOST_ITEMS: usize = 1 << 8;
/// Of one moment no more frames than this are kept to be held against those of other logs.
const MOST_OF_A_MOMENT: usize = 1 << 10;
/// A clock that tells less than this, in nanoseconds since 1970, counts from its own start: the year 2000.
const DATED: u64 = 946_684_800_000_000_000;

/// The first moment that a log tells; nothing where it tells none or is no log. A piece of it is enough.
pub fn first_moment(reader: impl Read) -> Option<Timestamp> {
    super::read_log(reader, |_| {}).ok()?.first
}

/// Whether a clock tells a date, and does not count from its own start.
pub fn tells_a_date(moment: Timestamp) -> bool {
    moment.nanoseconds() >= DATED
}

/// Reads several logs as one, whose items go to `take` with the place of their log among `readers`. With `by_time` their items
/// come in the order of their moments, and a frame that stands in two of them with the same moment comes once; without, one log
/// comes after the other. Buses of one name are one bus.
///
/// Keeps no more of each log than a few blocks.
pub fn read_logs_together<R: Read + Send>(
    readers: Vec<R>,
    by_time: bool,
    mut take: impl FnMut(usize, LogItem<'_>),
) -> Vec<Result<LogFacts, LogError>> {
    thread::scope(|scope| {
        let mut threads = Vec::new();
        let mut sources = Vec::new();
        for reader in readers {
            let (full, arriving) = sync_channel(PARCELS);
            threads.push(scope.spawn(move || {
                let mut sender = Sender { parcel: Vec::new(), full };
                let read = read_into(reader, &SkipIds::none(), &mut sender);
                sender.pause();
                read
            }));
            sources.push(Source::new(arriving));
        }
        let (mut buses, mut twice) = (Interfaces::default(), SeenNow::default());
        let mut open: Vec<usize> = (0..sources.len()).collect();
        while !open.is_empty() {
            // Equal moments in the order of the logs. What tells no moment comes where it stands in its log.
            open.retain(|place| sources[*place].fill());
            let next = if by_time {
                open.iter().copied().min_by_key(|place| sources[*place].now)
            } else {
                open.first().copied()
            };
            let Some(place) = next else { continue };
            let Some(item) = sources[place].next() else { continue };
            match item {
                Item::Bus(local, name) => {
                    let bus = buses.number(name.as_bytes());
                    let buses = &mut sources[place].buses;
                    let at = usize::from(local.0);
                    if buses.len() <= at {
                        buses.resize(at + 1, Interface::UNNAMED);
                    }
                    buses[at] = bus;
                    take(place, LogItem::Bus(bus, name));
                }
                Item::Frame(mut frame) => {
                    let buses = &sources[place].buses;
                    frame.interface = buses.get(usize::from(frame.interface.0)).copied().unwrap_or_default();
                    if !(by_time && twice.stands_in_another(place, sources[place].first, &frame)) {
                        take(place, LogItem::Frame(&frame));
                    }
                }
                Item::Ip(message) => take(place, LogItem::Ip(message)),
                Item::Problem(problem) => take(place, LogItem::Problem(problem)),
            }
        }
        let joined = threads.into_iter().map(|it| it.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        joined.collect()
    })
}

/// Frames of the present moment, with the logs in which they stand.
#[derive(Default)]
struct SeenNow {
    moment: Option<Timestamp>,
    frames: Vec<(CanFrame, Vec<usize>)>,
}

impl SeenNow {
    /// Whether a frame of the log at `place` stands in another one too, and came from there already. Logs of one logger that meet
    /// in a moment (`first`) need not both have what happened in it.
    fn stands_in_another(&mut self, place: usize, first: Option<Timestamp>, frame: &CanFrame) -> bool {
        if frame.moment != self.moment {
            self.moment = frame.moment;
            self.frames.clear();
        }
        if frame.moment.is_none() {
            return false;
        }
        let same = |other: &CanFrame| {
            (other.interface, other.id, other.kind) == (frame.interface, frame.id, frame.kind)
                && other.data() == frame.data()
        };
        let known = self.frames.iter_mut().find(|(other, logs)| same(other) && !logs.contains(&place));
        if let Some((_, logs)) = known.filter(|_| frame.moment != first) {
            logs.push(place);
            return true;
        }
        if self.frames.len() < MOST_OF_A_MOMENT {
            self.frames.push((frame.clone(), vec![place]));
        }
        false
    }
}

/// An item that owns what it has.
enum Item {
    Frame(CanFrame),
    Bus(Interface, String),
    Ip(IpMessage),
    Problem(LogProblem),
}

/// One log that is being read.
struct Source {
    arriving: Receiver<Vec<Item>>,
    items: VecDeque<Item>,
    /// Its buses, by the numbers that they have in it.
    buses: Vec<Interface>,
    first: Option<Timestamp>,
    /// How far it has come; a clock that is put back does not bring it behind that.
    now: Option<Timestamp>,
}

impl Source {
    fn new(arriving: Receiver<Vec<Item>>) -> Self {
        Self { arriving, items: VecDeque::new(), buses: Vec::new(), first: None, now: None }
    }

    /// Waits for its next item; says whether there is one.
    fn fill(&mut self) -> bool {
        while self.items.is_empty() {
            match self.arriving.recv() {
                Ok(parcel) => self.items.extend(parcel),
                Err(_) => return false,
            }
        }
        // The name of a bus comes right before its first frame.
        let moment = self.items.iter().find_map(|item| match item {
            Item::Frame(frame) => Some(frame.moment),
            Item::Ip(message) => Some(message.moment),
            Item::Bus(..) | Item::Problem(_) => None,
        });
        let moment = moment.flatten();
        self.first = self.first.or(moment);
        self.now = self.now.max(moment);
        true
    }

    fn next(&mut self) -> Option<Item> {
        self.items.pop_front()
    }
}

/// Packs items and sends them.
struct Sender {
    parcel: Vec<Item>,
    full: SyncSender<Vec<Item>>,
}

impl Sink for Sender {
    fn item(&mut self, item: LogItem<'_>) {
        self.parcel.push(match item {
            LogItem::Frame(frame) => Item::Frame(frame.clone()),
            LogItem::Bus(interface, name) => Item::Bus(interface, name),
            LogItem::Ip(message) => Item::Ip(message),
            LogItem::Problem(problem) => Item::Problem(problem),
            // Nothing is passed over.
            LogItem::Ordinary(_) => return,
        });
        if self.parcel.len() >= MOST_ITEMS {
            self.pause();
        }
    }

    fn pause(&mut self) {
        if !self.parcel.is_empty() {
            // Nobody takes anything any more only where taking panicked, and that is told at the other end.
            let _ = self.full.send(std::mem::take(&mut self.parcel));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn together(logs: &[&str], by_time: bool) -> Vec<String> {
        let mut all = Vec::new();
        let readers = logs.iter().map(|log| log.as_bytes()).collect();
        let facts = read_logs_together(readers, by_time, |place, item| {
            if let LogItem::Frame(frame) = item {
                all.push(format!("{place} {} {}", frame.id, frame.data()[0]));
            }
        });
        assert!(facts.iter().all(Result::is_ok));
        all
    }

    const ONE: &str = "(1700000000.1) can0 100#01\n(1700000000.2) can0 100#02\n(1700000000.3) can0 100#03\n";

    #[test]
    fn logs_that_follow_each_other_are_one() {
        let two = "(1700000000.4) can0 100#04\n";
        assert_eq!(together(&[ONE, two], true), ["0 100 1", "0 100 2", "0 100 3", "1 100 4"]);
    }

    #[test]
    fn what_stands_in_both_comes_once() {
        let two = "(1700000000.15) can0 100#09\n(1700000000.2) can0 100#02\n(1700000000.3) can0 100#03\n\
                   (1700000000.3) can0 100#03\n(1700000000.4) can1 100#04\n";
        assert_eq!(
            together(&[ONE, two], true),
            // The second 03 of one moment stands in the second log alone.
            ["0 100 1", "1 100 9", "0 100 2", "0 100 3", "1 100 3", "1 100 4"]
        );
    }

    #[test]
    fn clocks_that_begin_anew_do_not_mix_the_logs() {
        let two = "(0.1) can0 100#04\n(0.2) can0 100#05\n";
        assert_eq!(together(&[ONE, two], false), ["0 100 1", "0 100 2", "0 100 3", "1 100 4", "1 100 5"]);
    }

    #[test]
    fn a_date_is_told_from_a_count() {
        assert_eq!(first_moment("(12.5) can0 100#01\n".as_bytes()).map(tells_a_date), Some(false));
        assert_eq!(first_moment(ONE.as_bytes()).map(tells_a_date), Some(true));
        assert_eq!(first_moment("can0  100  [1]  01\n".as_bytes()), None);
    }
}
