//! Recorded conversations of can-isotp 2.0.7 and udsoncan 1.26.1, held against what both ends sent and received
//! (`tests/oracles/wire_isotp.py`): every payload must be equal, and what did not get through must be told as broken.
#![allow(clippy::unwrap_used, clippy::format_collect, reason = "a test stops where something is missing")]

use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;

use asfound_wire::frame::Interfaces;
use asfound_wire::listening::{BusEvent, Listener, ListenerOptions, ListenerSummary, Sender};
use asfound_wire::log::read_log;
use asfound_wire::pairing::Role;
use asfound_wire::transport::{CanChannel, FailureReason};
use serde::Deserialize;

type Channel = (String, Option<u8>);

#[derive(Deserialize)]
struct Conversation {
    mode: String,
    channels: [Channel; 2],
    bus: String,
    messages: Vec<Sent>,
}

#[derive(Deserialize)]
struct Sent {
    channel: Channel,
    payload: String,
    trouble: Option<String>,
    received: Option<String>,
}

fn data(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

fn truth(group: &str) -> Vec<Conversation> {
    let mut text = String::new();
    let packed = data(&format!("isotp-{group}.truth.jsonl.gz"));
    flate2::read::GzDecoder::new(packed.as_slice()).read_to_string(&mut text).unwrap();
    let mut lines = text.lines();
    let head: serde_json::Value = serde_json::from_str(lines.next().unwrap()).unwrap();
    assert_eq!(head["made_with"]["can-isotp"], "2.0.7");
    let conversations: Vec<_> = lines.map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(head["conversations"], conversations.len());
    conversations
}

/// All that one channel gave, in its order.
#[derive(Default, Debug)]
struct Given {
    whole: Vec<String>,
    broken: Vec<FailureReason>,
    roles: BTreeSet<Role>,
}

fn listen(group: &str) -> (BTreeMap<(String, Channel), Given>, ListenerSummary) {
    let mut listener = Listener::new(ListenerOptions::default());
    let mut given: BTreeMap<CanChannel, Given> = BTreeMap::new();
    let packed = data(&format!("isotp-{group}.log.gz"));
    let mut take = |heard: BusEvent| match heard {
        BusEvent::Message(message) => {
            let Sender::Can(channel) = message.sender else { panic!("no IP in here") };
            let given = given.entry(channel).or_default();
            given.whole.push(hex(&message.payload));
            given.roles.insert(message.role);
        }
        BusEvent::Broken(broken) => given.entry(broken.channel).or_default().broken.push(broken.why),
        other => panic!("{other:?}"),
    };
    let facts = read_log(packed.as_slice(), |item| listener.item(item, &mut |heard, _| take(heard))).unwrap();
    assert!(facts.problems.is_empty(), "{:?}", facts.problems);
    let facts_of_all = listener.finish(&mut |heard, _| take(heard));
    let name = |channel: CanChannel, interfaces: &Interfaces| {
        (interfaces.name(channel.interface), (channel.id.to_string(), channel.address))
    };
    (given.into_iter().map(|(channel, given)| (name(channel, &facts.interfaces), given)).collect(), facts_of_all)
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02X}")).collect()
}

/// Seeds and keys must be gone, and nothing else.
fn without_secrets(payload: &str) -> String {
    if payload.starts_with("27") || payload.starts_with("67") {
        format!("{:0<width$}", &payload[..4], width = payload.len())
    } else {
        payload.to_owned()
    }
}

fn compare(group: &str) -> usize {
    let conversations = truth(group);
    let (mut given, listened) = listen(group);
    let (mut waits, mut twice) = (0, 0);
    let mut kinds = BTreeSet::new();
    for conversation in &conversations {
        kinds.insert(conversation.mode.clone());
        let mut expected: BTreeMap<&Channel, (Vec<String>, Vec<&str>)> = BTreeMap::new();
        for sent in &conversation.messages {
            let trouble = sent.trouble.as_deref();
            waits += u64::from(trouble == Some("wait")) * 2;
            let (whole, broken) = expected.entry(&sent.channel).or_default();
            // What the receiver got and the log has in full.
            // A frame that was sent twice, for which the receiver gave up, cannot be told from one that was logged twice: where the
            // sender went on, what was sent is known.
            let channel = (conversation.bus.clone(), sent.channel.clone());
            let in_full = || given.get(&channel).is_some_and(|it| it.whole.contains(&without_secrets(&sent.payload)));
            if trouble == Some("twice") && in_full() {
                assert_eq!(sent.received, None);
                twice += 1;
                whole.push(without_secrets(&sent.payload));
            } else if sent.received.is_some() && trouble != Some("log") {
                assert_eq!(sent.received.as_ref(), Some(&sent.payload));
                whole.push(without_secrets(&sent.payload));
            } else {
                broken.push(
                    trouble.unwrap_or_else(|| panic!("lost without a reason: {:?} {}", sent.channel, sent.payload)),
                );
            }
        }
        for (channel, (whole, broken)) in expected {
            let given = given.remove(&(conversation.bus.clone(), channel.clone())).unwrap_or_default();
            let place = format!("{group} {} {} {channel:?}", conversation.mode, conversation.bus);
            assert_eq!(given.whole, whole, "{place}");
            assert_eq!(given.broken.len(), broken.len(), "{place}: {:?} {broken:?}", given.broken);
            for (why, trouble) in given.broken.iter().zip(broken) {
                assert!(reasons(why).contains(&trouble), "{place}: {why:?} by {trouble}");
            }
            let role = if channel == &conversation.channels[1] { Role::Response } else { Role::Request };
            assert_eq!(given.roles, BTreeSet::from([role]), "{place}");
        }
    }
    assert_eq!(given.keys().collect::<Vec<_>>(), Vec::<&(String, Channel)>::new(), "nothing else is diagnostics");
    assert_eq!(listened.waits, waits);
    // In the last group every sender waited for the receiver after it.
    assert!(twice > 0 || group == "flexible", "{group}: none was sent twice and gone on with");
    // No pair across conversations.
    let across: Vec<String> = listened
        .found
        .pairs
        .iter()
        .map(|pair| (pair.request.id.to_string(), pair.response.id.to_string()))
        .filter(|(request, response)| {
            !conversations.iter().any(|conversation| {
                let asks = |sent: &Sent| sent.channel.0 == *request;
                conversation.channels[1].0 == *response && conversation.messages.iter().any(asks)
            })
        })
        .map(|(request, response)| format!("{request}:{response}"))
        .collect();
    assert_eq!(across, Vec::<String>::new());
    assert_eq!(listened.found.unrecognised, 0);
    conversations.len()
}

/// The troubles that look so in a log. A missing frame looks the same whoever missed it.
fn reasons(why: &FailureReason) -> &'static [&'static str] {
    match why {
        FailureReason::WrongNumber { expected, got } if *got == (expected + 1) & 15 => &["bus", "log"],
        FailureReason::Interrupted { .. } | FailureReason::Unfinished { .. } => &["mute", "bus", "log", "twice"],
        FailureReason::Overflow => &["full"],
        other => panic!("{other:?}"),
    }
}

#[test]
fn normal_addressing() {
    assert_eq!(compare("normal"), 72);
}

#[test]
fn normal_fixed_addressing() {
    assert_eq!(compare("fixed"), 36);
}

#[test]
fn extended_and_mixed_addressing() {
    assert_eq!(compare("address-byte"), 72);
}

#[test]
fn flexible_data_rate() {
    assert_eq!(compare("flexible"), 36);
}
