//! Listens to a bus log from its beginning to its end.

use std::collections::BTreeMap;
use std::io::{self, Read};
use std::thread::available_parallelism;

use asfound_core::entry::LogDigest;
use asfound_journal::Digest;
use asfound_wire::conversation::{Conversations, Exchanges, RecordLengths, Timeline};
use asfound_wire::frame::{CanFrame, Interface};
use asfound_wire::listening::{Heard, Listened, Listener, ListenerOptions};
use asfound_wire::log::{LogError, LogFacts, LogItem, read_log_ahead, read_log_passing_over};
use sha2::{Digest as _, Sha256};

/// The names of buses.
pub type Buses = BTreeMap<Interface, String>;

/// What was heard in a whole log.
pub struct Hearing {
    /// What the log was.
    pub facts: LogFacts,
    /// What was heard altogether.
    pub altogether: Listened,
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
    take: &mut dyn FnMut(&Heard, &Buses),
    kept: &mut dyn FnMut(u64, &CanFrame, &Buses),
) -> Result<Hearing, LogError> {
    let mut listener = Listener::new(options);
    let ordinary = listener.ordinary();
    let (mut exchanges, mut timeline) = (Exchanges::default(), Timeline::default());
    let mut buses = Buses::new();
    let mut heard = |heard: &Heard, pairs: &_, buses: &Buses| {
        if let Heard::Message(message) = heard {
            exchanges.message(message, pairs, &mut |exchange| timeline.exchange(&exchange));
        }
        take(heard, buses);
    };
    let take_item = |item: LogItem<'_>| match item {
        LogItem::Bus(interface, name) => {
            buses.insert(interface, name);
        }
        LogItem::Frame(frame) => {
            listener.frame(frame, &mut |one, pairs| heard(&one, pairs, &buses), &mut |number, frame| {
                kept(number, frame, &buses);
            });
        }
        item => listener.item(item, &mut |one, pairs| heard(&one, pairs, &buses)),
    };
    // Two processors need a third less time than one (docs/performance.md).
    let alone = available_parallelism().is_ok_and(|processors| processors.get() == 1);
    let facts = if alone {
        read_log_passing_over(reader, &ordinary, take_item)
    } else {
        read_log_ahead(reader, &ordinary, take_item)
    }?;
    let pairs = listener.pairs().clone();
    let altogether = listener.finish(&mut |one, pairs| heard(&one, pairs, &buses));
    exchanges.finish(&pairs, &mut |exchange| timeline.exchange(&exchange));
    Ok(Hearing { facts, altogether, conversations: timeline.finish(lengths), buses })
}

/// A file that is read, with the digest and the number of the bytes that were read so far.
pub struct Digesting<R> {
    reader: R,
    digest: Sha256,
    bytes: u64,
}

impl<R: Read> Digesting<R> {
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

impl<R: Read> Read for Digesting<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.reader.read(into)?;
        self.digest.update(&into[..count]);
        self.bytes += count as u64;
        Ok(count)
    }
}
