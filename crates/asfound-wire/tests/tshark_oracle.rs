//! Message by message what tshark 4.0.17 makes of the recorded conversations (`tests/oracles/wire_tshark.py`): of those of
//! can-isotp on a CAN bus, and of those of doipclient on IP.
#![allow(clippy::unwrap_used, clippy::format_collect, reason = "a test stops where something is missing")]

use std::collections::BTreeMap;
use std::io::Read;

use asfound_wire::listening::{BusEvent, Listener, ListenerOptions, Message, Sender};
use asfound_wire::log::{LogFacts, read_log};
use asfound_wire::transport::{CanChannel, Mending};
use serde::Deserialize;
use serde::de::DeserializeOwned;

fn data(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

fn said<T: DeserializeOwned>(name: &str) -> Vec<T> {
    let mut text = String::new();
    flate2::read::GzDecoder::new(data(name).as_slice()).read_to_string(&mut text).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn messages(name: &str) -> (Vec<Message>, LogFacts) {
    let mut listener = Listener::new(ListenerOptions::default());
    let mut messages = Vec::new();
    let mut take = |heard| match heard {
        // With a frame of the log that stands there twice tshark gives a message up.
        BusEvent::Message(message) if !message.mended.is_empty() => {
            assert!(message.mended.iter().eq([Mending::Doubled]));
        }
        BusEvent::Message(message) => messages.push(message),
        BusEvent::Broken(_) | BusEvent::Ip(_) => {}
        BusEvent::Problem(problem) => panic!("{problem:?}"),
    };
    let facts = read_log(data(name).as_slice(), |item| listener.item(item, &mut |one, _| take(one))).unwrap();
    listener.finish(&mut |one, _| take(one));
    (messages, facts)
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02X}")).collect()
}

#[derive(Deserialize)]
struct OnCan {
    group: String,
    bus: String,
    id: String,
    address: Option<u8>,
    payload: String,
}

/// By bus, identifier and address byte.
type Channels = BTreeMap<(String, String, Option<u8>), Vec<String>>;

/// What tshark says of a group of conversations, of which there are so many messages, and what is heard in it.
fn on_can(group: &str, count: usize) -> (Channels, Channels) {
    let mut by_tshark = Channels::new();
    for OnCan { bus, id, address, payload, .. } in
        said("isotp.tshark.jsonl.gz").into_iter().filter(|one: &OnCan| one.group == group)
    {
        by_tshark.entry((bus, id, address)).or_default().push(payload);
    }
    assert_eq!(by_tshark.values().map(Vec::len).sum::<usize>(), count);
    let (messages, facts) = messages(&format!("isotp-{group}.log.gz"));
    let mut heard = Channels::new();
    for message in messages {
        let Sender::Can(CanChannel { interface, id, address }) = message.sender else { panic!("no IP in here") };
        let channel = (facts.interfaces.name(interface), id.to_string(), address);
        heard.entry(channel).or_default().push(hex(&message.payload));
    }
    (by_tshark, heard)
}

/// It was given each conversation alone, because it mixes messages whose frames are interleaved; beyond that there is no
/// difference.
#[test]
fn normal_and_normal_fixed_addressing() {
    for (group, count) in [("normal", 876), ("fixed", 525)] {
        let (by_tshark, heard) = on_can(group, count);
        assert_eq!(heard, by_tshark, "{group}");
    }
}

#[test]
fn extended_and_mixed_addressing() {
    let (by_tshark, heard) = on_can("address-byte", 889);
    assert_eq!(heard, by_tshark);
}

#[test]
fn flexible_data_rate() {
    let (by_tshark, heard) = on_can("flexible", 455);
    assert_eq!(heard, by_tshark);
}

#[derive(Deserialize, Debug, PartialEq)]
struct OnIp {
    source: u16,
    target: u16,
    payload: String,
}

/// It was told to put segments in order; there is no difference.
#[test]
fn diagnostics_on_ip() {
    let by_tshark: Vec<OnIp> = said("doip.tshark.jsonl.gz");
    assert_eq!(by_tshark.len(), 214);
    let (messages, _) = messages("doip.pcap");
    let heard = messages.iter().map(|message| {
        let Sender::Ip { source, target } = message.sender else { panic!("no CAN in here") };
        OnIp { source, target, payload: hex(&message.payload) }
    });
    assert_eq!(heard.collect::<Vec<_>>(), by_tshark);
}
