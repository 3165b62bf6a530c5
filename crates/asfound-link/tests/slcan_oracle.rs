//! What python-can and can-isotp send through a serial-line CAN adapter for the same questions (`tests/oracles/link_slcan.py`).

#![allow(clippy::unwrap_used, reason = "in a test that is a failed test, also in its helpers")]

use std::collections::VecDeque;

use asfound_link::can::{BitRate, CanBus, CanLink, CanModule, SerialLine, SerialLineEvent};
use asfound_link::request::{CodesReport, ReadRequest, ReadSession};
use asfound_link::{Arrival, Link, LinkError};
use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::{CanFrame, Timestamp};
use serde::Deserialize;

#[derive(Deserialize)]
struct Recorded {
    opening: Vec<String>,
    exchanges: Vec<Exchange>,
}

#[derive(Deserialize)]
struct Exchange {
    request: String,
    sent: Vec<String>,
    answer: String,
}

/// The adapter of the script: it answers a request with a first frame, and a flow control with the rest.
#[derive(Default)]
struct Adapter {
    line: SerialLine,
    commands: Vec<String>,
    waiting: VecDeque<CanFrame>,
}

impl CanBus for Adapter {
    fn now(&self) -> Timestamp {
        Timestamp::default()
    }

    fn send(&mut self, frame: &CanFrame) -> Result<(), LinkError> {
        let command = SerialLine::command(frame).unwrap();
        let said: &[u8] = match command.as_bytes()[10] {
            b'0' => b"Z\rT18DAF10E8101462F190010203\r",
            _ => b"Z\rT18DAF10E82104050607080900\rT18DAF10E8220A0B0C0D0E0F10\r",
        };
        self.commands.push(command);
        let waiting = &mut self.waiting;
        self.line.take(said, &mut |event| {
            if let SerialLineEvent::Frame(frame) = event {
                waiting.push_back(frame);
            }
        });
        Ok(())
    }

    fn receive(&mut self, _: Timestamp) -> Result<Option<CanFrame>, LinkError> {
        Ok(self.waiting.pop_front())
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |text, byte| text + &format!("{byte:02x}"))
}

fn recorded() -> Recorded {
    serde_json::from_str(include_str!("data/slcan.json")).unwrap()
}

#[test]
fn can_isotp_and_python_can_send_the_same_for_the_same_question() {
    let recorded = recorded();
    let requests = [
        ReadRequest::Record(0xF190),
        ReadRequest::Codes(CodesReport::List { mask: 0xAF }),
        ReadRequest::Present,
        ReadRequest::Session(ReadSession::Extended),
        ReadRequest::Current(0x0D),
        ReadRequest::Codes(CodesReport::Snapshots { code: [0x1A, 0x04, 0x12] }),
    ];
    assert_eq!(recorded.exchanges.len(), requests.len());
    for (request, exchange) in requests.into_iter().zip(&recorded.exchanges) {
        assert_eq!(hexadecimal(&request.bytes()), exchange.request);
        let module = CanModule::of_address(0x0E);
        let mut link = CanLink::new(Adapter::default(), [module], Some(0xAA), "can0");
        link.send(ModuleAddress::Can(module.answers), request).unwrap();
        let until = Timestamp::default().after(std::time::Duration::from_secs(1));
        let received = link.receive(until).unwrap().unwrap();
        let Arrival::Response(answer) = received.what else { panic!("{received:?}") };
        assert_eq!(hexadecimal(&answer), exchange.answer);
        assert_eq!(link.bus().commands, exchange.sent);
    }
}

/// python-can sends an empty line in between and opens twice; what does something is the same.
#[test]
fn python_can_opens_a_bus_with_the_same_commands() {
    let mut theirs = recorded().opening;
    theirs.retain(|command| command != "\r");
    theirs.dedup();
    assert_eq!(theirs, SerialLine::opening(BitRate::USUAL));
}
