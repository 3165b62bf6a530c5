//! Listens to a bus log from its beginning to its end.

use std::collections::BTreeMap;
use std::io::{self, Read};
use std::thread::available_parallelism;

use asfound_core::entry::LogDigest;
use asfound_journal::Digest;
use asfound_wire::conversation::{Conversations, Exchanges, RecordLengths, Timeline};
use asfound_wire::frame::{CanFrame, Interface};
use asfound_wire::listening::{BusEvent, Listener, ListenerOptions, ListenerSummary};
use asfound_wire::log::{LogError, LogFacts, LogItem, read_log_ahead, read_log_passing_over, read_logs_together};
use asfound_wire::pairing::Pairs;
use sha2::{Digest as _, Sha256};

/// The names of buses.
pub type Buses = BTreeMap<Interface, String>;

/// Takes everything that is heard.
pub type Take<'t> = dyn FnMut(&BusEvent, &Buses) + 't;

/// Takes frames of conversations that are to be kept.
pub type Keep<'t> = dyn FnMut(u64, &CanFrame, &Buses) + 't;

/// What was heard in a whole log.
pub struct LogSummary {
    /// What the log was.
    pub facts: LogFacts,
    /// What was heard altogether.
    pub altogether: ListenerSummary,
    /// What was asked and answered.
    pub conversations: Conversations,
    /// The names of its buses.
    pub buses: Buses,
}

/// Listens to a log. Everything heard goes to `take` at once, and frames of conversations to `kept` where the options ask
/// for them.
///
/// # Errors
/// When it is no log, or cannot be read to its end.
pub fn hear(
    reader: impl Read + Send,
    options: ListenerOptions,
    lengths: &dyn RecordLengths,
    take: &mut dyn FnMut(&BusEvent, &Buses),
    kept: &mut dyn FnMut(u64, &CanFrame, &Buses),
) -> Result<LogSummary, LogError> {
    let mut ear = LogCollector::new(options, take, kept);
    let ordinary = ear.listener.ordinary();
    // Two processors need a third less time than one (docs/performance.md).
    let alone = available_parallelism().is_ok_and(|processors| processors.get() == 1);
    let facts = if alone {
        read_log_passing_over(reader, &ordinary, |item| ear.item(item))
    } else {
        read_log_ahead(reader, &ordinary, |item| ear.item(item))
    }?;
    let (altogether, conversations, buses) = ear.finish(lengths);
    Ok(LogSummary { facts, altogether, conversations, buses })
}

/// What was heard in several logs of one piece of work.
pub struct LogsSummary {
    /// What each of them was.
    pub facts: Vec<Result<LogFacts, LogError>>,
    /// What was asked and answered.
    pub conversations: Conversations,
    /// The names of their buses.
    pub buses: Buses,
}

/// Listens to several logs as if they were one: messages go on from one to the next. With `by_time` they are brought into the order
/// of time, and what stands in two of them counts once.
pub fn hear_together<R: Read + Send>(
    readers: Vec<R>,
    by_time: bool,
    options: ListenerOptions,
    lengths: &dyn RecordLengths,
    (take, kept): (&mut Take<'_>, &mut Keep<'_>),
) -> LogsSummary {
    let mut ear = LogCollector::new(options, take, kept);
    let mut furthest = 0;
    let facts = read_logs_together(readers, by_time, |place, item| {
        if place > furthest {
            furthest = place;
            ear.listener.next_log();
        }
        ear.item(item);
    });
    let (_, conversations, buses) = ear.finish(lengths);
    LogsSummary { facts, conversations, buses }
}

/// Puts together what is heard.
struct LogCollector<'t> {
    listener: Listener,
    exchanges: Exchanges,
    timeline: Timeline,
    buses: Buses,
    take: &'t mut dyn FnMut(&BusEvent, &Buses),
    kept: &'t mut dyn FnMut(u64, &CanFrame, &Buses),
}

impl<'t> LogCollector<'t> {
    fn new(
        options: ListenerOptions,
        take: &'t mut dyn FnMut(&BusEvent, &Buses),
        kept: &'t mut dyn FnMut(u64, &CanFrame, &Buses),
    ) -> Self {
        let (exchanges, timeline) = (Exchanges::default(), Timeline::default());
        Self { listener: Listener::new(options), exchanges, timeline, buses: Buses::new(), take, kept }
    }

    fn item(&mut self, item: LogItem<'_>) {
        let Self { listener, exchanges, timeline, buses, take, kept } = self;
        if let LogItem::Bus(interface, name) = item {
            buses.insert(interface, name);
            return;
        }
        let mut heard = |one: BusEvent, pairs: &Pairs| {
            gather(&one, pairs, exchanges, timeline);
            take(&one, buses);
        };
        match item {
            LogItem::Frame(frame) => {
                listener.frame(frame, &mut heard, &mut |number, frame| kept(number, frame, buses));
            }
            item => listener.item(item, &mut heard),
        }
    }

    fn finish(self, lengths: &dyn RecordLengths) -> (ListenerSummary, Conversations, Buses) {
        let Self { listener, mut exchanges, mut timeline, buses, take, .. } = self;
        let pairs = listener.pairs().clone();
        let altogether = listener.finish(&mut |one, pairs| {
            gather(&one, pairs, &mut exchanges, &mut timeline);
            take(&one, &buses);
        });
        exchanges.finish(&pairs, &mut |exchange| timeline.exchange(&exchange));
        (altogether, timeline.finish(lengths), buses)
    }
}

fn gather(heard: &BusEvent, pairs: &Pairs, exchanges: &mut Exchanges, timeline: &mut Timeline) {
    match heard {
        BusEvent::Message(message) => exchanges.message(message, pairs, &mut |exchange| timeline.exchange(&exchange)),
        BusEvent::Broken(broken) => timeline.broken(broken, pairs),
        BusEvent::Ip(_) | BusEvent::Problem(_) => {}
    }
}

/// A file that is read, with the digest and the number of the bytes that were read so far.
pub struct HashingReader<R> {
    reader: R,
    digest: Sha256,
    bytes: u64,
}

impl<R: Read> HashingReader<R> {
    /// Nothing is read yet.
    pub fn new(reader: R) -> Self {
        Self { reader, digest: Sha256::new(), bytes: 0 }
    }

    /// Reads what is left; hands back digest and number of all bytes.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn finish(mut self) -> io::Result<(LogDigest, u64)> {
        io::copy(&mut self, &mut io::sink())?;
        let digest = Digest::from(<[u8; 32]>::from(self.digest.finalize())).to_string();
        let digest = LogDigest::try_from(digest).expect("32 bytes have 64 hexadecimal digits");
        Ok((digest, self.bytes))
    }
}

impl<R: Read> Read for HashingReader<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.reader.read(into)?;
        self.digest.update(&into[..count]);
        self.bytes += count as u64;
        Ok(count)
    }
}
