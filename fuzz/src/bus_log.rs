//! Bus logs in every form, and what is heard in them.

use std::io::Read;
use std::sync::Arc;

use asfound_wire::conversation::{Exchanges, ModuleAddress, Timeline};
use asfound_wire::listening::{BusEvent, Listener, ListenerOptions};
use asfound_wire::log::{LogFacts, LogItem, read_log, read_log_passing_over};

use crate::messages::harmless;

/// Gives one byte at a time, so that every block ends in every place.
struct Slowly<'a>(&'a [u8]);

impl Read for Slowly<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let length = into.len().min(1);
        self.0.read(&mut into[..length])
    }
}

fn items(reader: impl Read) -> Option<(Vec<String>, LogFacts)> {
    let mut items = Vec::new();
    let facts = read_log(reader, |item| {
        if let LogItem::Problem(problem) = &item {
            harmless(problem);
        }
        items.push(match item {
            LogItem::Frame(frame) => format!("{:?} {:?} {:?} {:?}", frame.moment, frame.id, frame.kind, frame.data()),
            other => format!("{other:?}"),
        });
    });
    facts.ok().map(|facts| (items, facts))
}

/// A log read in large and in small pieces gives the same; what is heard is no more than what came, and holds no seeds and keys.
pub fn bus_log(data: &[u8]) {
    let Some((all, facts)) = items(data) else { return };
    let slowly = items(Slowly(data));
    // How much of a damaged compressed file comes out before the damage shows depends on how it is read.
    if !matches!(data, [0x1F, 0x8B, ..] | [0x28, 0xB5, 0x2F, 0xFD, ..] | [0x50..=0x5F, 0x2A, 0x4D, 0x18, ..]) {
        assert_eq!(all, slowly.expect("it was a log before").0);
    }
    assert_eq!(
        facts.problems.values().sum::<u64>(),
        all.iter().filter(|item| item.starts_with("Problem")).count() as u64
    );

    assert_eq!(listened(data, true), listened(data, false));

    let pairs = vec!["7E0:7E8".parse().expect("a pair"), "6F1/12:612/F1".parse().expect("a pair")];
    let options = ListenerOptions { pairs, keep_frames: true, ..ListenerOptions::default() };
    let mut listener = Listener::new(options);
    let (mut exchanges, mut timeline) = (Exchanges::default(), Timeline::default());
    let (mut came, mut heard_bytes) = (0, 0);
    read_log(data, |item| {
        let mut hear = |heard: BusEvent, pairs: &_| match heard {
            BusEvent::Message(message) => {
                heard_bytes += message.payload.len();
                without_secrets(&message.payload);
                exchanges.message(&message, pairs, &mut |exchange| timeline.exchange(&exchange));
            }
            BusEvent::Broken(broken) => {
                heard_bytes += broken.partial.len();
                without_secrets(&broken.partial);
                harmless(broken.why);
            }
            BusEvent::Ip(_) | BusEvent::Problem(_) => {}
        };
        match item {
            LogItem::Frame(frame) => {
                came += frame.data().len();
                listener.frame(frame, &mut hear, &mut |_, kept| {
                    // A single frame with a key in it.
                    if let [length @ 3..=7, 0x27 | 0x67, _, secret @ ..] = kept.data() {
                        let length = usize::from(*length);
                        assert!(kept.data().len() <= length || secret[..length - 2].iter().all(|byte| *byte == 0));
                    }
                });
            }
            item => {
                if let LogItem::Ip(_) = &item {
                    came += data.len();
                }
                listener.item(item, &mut hear);
            }
        }
    })
    .expect("it was a log before");
    listener.finish(&mut |_, _| {});
    assert!(heard_bytes <= came, "{heard_bytes} bytes heard of {came}");
    let conversations = timeline.finish(&|_: &ModuleAddress, _| None);
    for record in conversations.modules.values().flat_map(|module| module.records.values()) {
        assert!(record.writes().len() <= record.events().len());
    }
}

/// What a listener says in the end, where frames of ordinary identifiers are given out or only counted.
fn listened(data: &[u8], passing_over: bool) -> Vec<String> {
    let mut listener = Listener::new(ListenerOptions::default());
    let ordinary = if passing_over { listener.ordinary() } else { Arc::default() };
    let mut said = Vec::new();
    let facts = read_log_passing_over(data, &ordinary, |item| {
        listener.item(item, &mut |heard, _| said.push(format!("{heard:?}")));
    });
    let altogether = listener.finish(&mut |heard, _| said.push(format!("{heard:?}")));
    said.push(format!("{altogether:?} {facts:?}"));
    said
}

/// Nothing but zeros after the second byte of what carries seeds, keys, certificates.
fn without_secrets(payload: &[u8]) {
    if let [0x27 | 0x67 | 0x29 | 0x69, _, secret @ ..] = payload {
        assert!(secret.iter().all(|byte| *byte == 0), "{payload:02X?}");
    }
}
