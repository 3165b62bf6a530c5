//! Diagnostics on IP between doipclient 1.2.2 and a loopback server, as packets (`tests/oracles/wire_doip.py`), held against
//! what both ends sent.
#![allow(clippy::unwrap_used, clippy::format_collect, reason = "a test stops where something is missing")]

use asfound_wire::conversation::{ExchangeOutcome, Exchanges, ModuleAddress, Timeline};
use asfound_wire::ip::{Framing, FramingStep, IpKind};
use asfound_wire::listening::{BusEvent, Listener, ListenerOptions, Sender};
use asfound_wire::log::{LogItem, ProblemKind, read_log};
use serde::Deserialize;

#[derive(Deserialize)]
struct Truth {
    connections: Vec<Vec<Sent>>,
}

#[derive(Deserialize, Debug, PartialEq)]
struct Sent {
    source: u16,
    target: u16,
    payload: String,
}

fn data(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

fn truth() -> Vec<Sent> {
    let truth: Truth = serde_json::from_slice(&data("doip.truth.json")).unwrap();
    let mut sent: Vec<Sent> = truth.connections.into_iter().flatten().collect();
    for sent in &mut sent {
        // Keys must be gone.
        if sent.payload.starts_with("27") && sent.payload.len() > 4 {
            sent.payload = format!("{:0<width$}", &sent.payload[..4], width = sent.payload.len());
        }
    }
    sent
}

fn heard(bytes: &[u8]) -> (Vec<BusEvent>, Vec<ProblemKind>) {
    let mut listener = Listener::new(ListenerOptions::default());
    let (mut all, mut problems) = (Vec::new(), Vec::new());
    read_log(bytes, |item| match item {
        LogItem::Problem(problem) => problems.push(problem.what),
        item => listener.item(item, &mut |heard, _| all.push(heard)),
    })
    .unwrap();
    (all, problems)
}

fn sent(heard: &[BusEvent]) -> Vec<Sent> {
    heard
        .iter()
        .filter_map(|heard| match heard {
            BusEvent::Message(message) => {
                let Sender::Ip { source, target } = message.sender else { panic!("no CAN in here") };
                let payload = message.payload.iter().map(|byte| format!("{byte:02X}")).collect();
                Some(Sent { source, target, payload })
            }
            _ => None,
        })
        .collect()
}

#[test]
fn every_message_is_there() {
    let (heard, problems) = heard(&data("doip.pcap"));
    assert_eq!(problems, []);
    assert_eq!(sent(&heard), truth());
    let others: Vec<&IpKind> = heard
        .iter()
        .filter_map(|heard| match heard {
            BusEvent::Ip(message) => Some(&message.kind),
            _ => None,
        })
        .collect();
    // The VIN is the example of 49 CFR 565 that the vehicle tests use.
    assert_eq!(others[0], &IpKind::Announcement { vin: *b"1M8GDM9AXKP042788", gateway: 0x1000 });
    assert_eq!(others[1], &IpKind::ActivationRequest { tester: 0x0E00 });
    assert_eq!(others[2], &IpKind::ActivationResponse { tester: 0x0E00, gateway: 0x1000, code: 0x10 });
    let taken = others.iter().filter(|kind| matches!(kind, IpKind::Acknowledged { refused: None, .. })).count();
    assert_eq!(taken, 90);
}

#[test]
fn requests_and_answers_come_together() {
    let (heard, _) = heard(&data("doip.pcap"));
    let (mut exchanges, mut timeline, mut all) = (Exchanges::default(), Timeline::default(), Vec::new());
    let pairs = asfound_wire::pairing::Pairs::default();
    for heard in &heard {
        if let BusEvent::Message(message) = heard {
            exchanges.message(message, &pairs, &mut |exchange| all.push(exchange));
        }
    }
    exchanges.finish(&pairs, &mut |exchange| all.push(exchange));
    assert_eq!(all.len(), 90);
    for exchange in &all {
        assert!(
            matches!(exchange.outcome, ExchangeOutcome::Answered(_) | ExchangeOutcome::Refused(..)),
            "{exchange:?}"
        );
        let routine = exchange.service() == Some(0x31);
        assert_eq!(exchange.pending, if routine { 2 } else { 0 });
        timeline.exchange(exchange);
    }
    let conversations = timeline.finish(&|_: &ModuleAddress, _| None);
    let modules: Vec<ModuleAddress> = conversations.modules.keys().copied().collect();
    assert_eq!(modules, [0x1010, 0x1020, 0x4001].map(ModuleAddress::Ip));
}

#[test]
fn a_capture_cut_anywhere_gives_what_was_complete_before() {
    let (whole, truth) = (data("doip.pcap"), truth());
    let mut most = 0;
    for cut in (24..whole.len()).step_by(997) {
        let given = sent(&heard(&whole[..cut]).0);
        assert_eq!(given, truth[..given.len()], "at {cut}");
        assert!(given.len() >= most, "at {cut}");
        most = given.len();
    }
    assert!(most > truth.len() / 2);
}

#[test]
fn a_missing_packet_costs_no_more_than_the_messages_that_it_touches() {
    let whole = data("doip.pcap");
    let mut borders = vec![24];
    while *borders.last().unwrap() < whole.len() {
        let at = *borders.last().unwrap();
        borders.push(at + 16 + u32::from_le_bytes(whole[at + 8..at + 12].try_into().unwrap()) as usize);
    }
    let truth = truth();
    for lost in (3..borders.len() - 1).step_by(61) {
        let without = [&whole[..borders[lost]], &whole[borders[lost + 1]..]].concat();
        let (heard, problems) = heard(&without);
        let given = sent(&heard);
        assert!(given.iter().all(|sent| truth.contains(sent)), "packet {lost}");
        assert!(given.len() + 2 >= truth.len(), "packet {lost}: {} of {}", given.len(), truth.len());
        let told = problems.iter().any(|kind| matches!(kind, ProblemKind::Gap | ProblemKind::NoMessage));
        assert!(told || given.len() == truth.len(), "packet {lost}");
    }
}

#[test]
fn bytes_that_are_no_message_are_passed_over_and_told_once() {
    let mut framing = Framing::default();
    framing.add(&[0xFF; 20]);
    framing.add(&[2, 0xFD, 0x80, 1, 0, 0, 0, 6, 0x0E, 0, 0x10, 0, 0x3E, 0]);
    let mut steps = Vec::new();
    while let Some(step) = framing.step() {
        steps.push(step);
    }
    let message = IpKind::Diagnostic { source: 0x0E00, target: 0x1000, payload: vec![0x3E, 0], blanked: false };
    assert_eq!(steps, [FramingStep::PassedOver, FramingStep::Message(message)]);
}
