//! The vehicle's side of diagnostics on IP (ISO 13400-2:2019; payload types and codes from memory, doipclient 1.2.2 agrees): no socket, no
//! clock.

use std::collections::{BTreeMap, VecDeque};
use std::time::Duration;

use asfound_wire::frame::Timestamp;
use asfound_wire::ip::framed;

use crate::faults::Reaction;
use crate::vehicle::Vehicle;

/// The generic header.
const HEADER: usize = 8;
/// The largest message that it takes.
const LARGEST: usize = 4096;
/// Longer than any tester may take to say that it is there (500 ms, ISO 13400-2, from memory).
const ALIVE: Duration = Duration::from_millis(500);

/// One connection to the vehicle's gateway.
#[derive(Debug, Default)]
pub struct IpGateway {
    bytes: Vec<u8>,
    tester: Option<u16>,
    /// What leaves at which moment, in the order in which it was put there.
    out: VecDeque<(Timestamp, Vec<u8>)>,
    /// When each module turns to its next request.
    free: BTreeMap<u16, Timestamp>,
    alive_until: Option<Timestamp>,
    ended: bool,
}

impl IpGateway {
    /// Takes bytes of the tester.
    pub fn take(&mut self, vehicle: &mut Vehicle, now: Timestamp, bytes: &[u8]) {
        vehicle.hear(bytes);
        self.bytes.extend(bytes);
        while !self.ended && self.bytes.len() >= HEADER {
            let head: [u8; HEADER] = self.bytes[..HEADER].try_into().expect("eight bytes");
            let length = u32::from_be_bytes([head[4], head[5], head[6], head[7]]) as usize;
            // The version, its complement; FF asks for any version.
            if head[0] != !head[1] || !matches!(head[0], 0x01..=0x04 | 0xFF) {
                self.send(now, 0x0000, &[0x00]);
                self.ended = true;
            } else if length > LARGEST {
                self.send(now, 0x0000, &[0x02]);
                self.ended = true;
            } else if self.bytes.len() < HEADER + length {
                return;
            } else {
                let content: Vec<u8> = self.bytes.drain(..HEADER + length).skip(HEADER).collect();
                self.message(vehicle, now, u16::from_be_bytes([head[2], head[3]]), &content);
            }
        }
    }

    fn message(&mut self, vehicle: &mut Vehicle, now: Timestamp, kind: u16, content: &[u8]) {
        match (kind, content) {
            (0x0005, [high, low, _, ..]) if matches!(content.len(), 7 | 11) => {
                let code = vehicle.refuses_activation.unwrap_or(0x10);
                let gateway = vehicle.gateway.to_be_bytes();
                self.send(now, 0x0006, &[&[*high, *low][..], &gateway, &[code, 0, 0, 0, 0]].concat());
                match code {
                    0x10 => self.tester = Some(u16::from_be_bytes([*high, *low])),
                    _ => self.ended = code != 0x11,
                }
                if vehicle.asks_alive && code == 0x10 {
                    self.send(now, 0x0007, &[]);
                    self.alive_until = Some(now.after(ALIVE));
                }
            }
            (0x0008, [high, low]) if self.tester == Some(u16::from_be_bytes([*high, *low])) => self.alive_until = None,
            (0x8001, [s0, s1, t0, t1, request @ ..]) if !request.is_empty() => {
                let (tester, module) = (u16::from_be_bytes([*s0, *s1]), u16::from_be_bytes([*t0, *t1]));
                self.diagnostic(vehicle, now, tester, module, request);
            }
            (0x0001..=0x0003 | 0x4001 | 0x4003, _) => {
                if let Some(answer) = Self::datagram(vehicle, kind, content) {
                    self.out.push_back((now, answer));
                }
            }
            (0x0005 | 0x0008 | 0x8001, _) => self.send(now, 0x0000, &[0x04]),
            _ => self.send(now, 0x0000, &[0x01]),
        }
    }

    fn diagnostic(&mut self, vehicle: &mut Vehicle, now: Timestamp, tester: u16, module: u16, request: &[u8]) {
        let ends = [module.to_be_bytes(), tester.to_be_bytes()].concat();
        let refuse = |code: u8| [&ends[..], &[code], request].concat();
        if self.tester != Some(tester) {
            self.send(now, 0x8003, &refuse(0x02));
            self.ended = true;
            return;
        }
        vehicle.note(module, request);
        if vehicle.is_cut() {
            self.ended = true;
            self.out.clear();
            return;
        }
        let Some(known) = vehicle.modules.get_mut(&module) else { return self.send(now, 0x8003, &refuse(0x03)) };
        if vehicle.faults.is_down(module, now) {
            return self.send(now, 0x8002, &refuse(0x00));
        }
        let answer = known.answer(request);
        let others: Vec<Vec<u8>> = known
            .records
            .iter()
            .filter(|(identifier, _)| request.get(1..3) != Some(&identifier.to_be_bytes()[..]))
            .take(4)
            .map(|(identifier, bytes)| [&[0x62][..], &identifier.to_be_bytes(), bytes].concat())
            .collect();
        match vehicle.faults.react(module, now, request, answer, &others) {
            Reaction::NoMemory => self.send(now, 0x8003, &refuse(0x05)),
            Reaction::Passed(busy, responses) => {
                self.send(now, 0x8002, &refuse(0x00));
                let begins = self.free.get(&module).map_or(now, |free| (*free).max(now));
                self.free.insert(module, begins.after(busy));
                let back = [module.to_be_bytes(), tester.to_be_bytes()].concat();
                for (after, response) in responses {
                    self.send(begins.after(after), 0x8001, &[&back[..], &response].concat());
                }
            }
        }
    }

    /// What is answered to a datagram.
    pub fn datagram(vehicle: &Vehicle, kind: u16, content: &[u8]) -> Option<Vec<u8>> {
        let gateway = vehicle.gateway.to_be_bytes();
        // An address of the kind that is administered locally.
        let entity = [0x02, 0, 0, 0, gateway[0], gateway[1]];
        match kind {
            0x0002 if content != entity => None,
            0x0003 if content != vehicle.vin => None,
            // No further action is required, and all is in step.
            0x0001..=0x0003 => framed(0x0004, &[&vehicle.vin[..], &gateway, &entity, &entity, &[0, 0]].concat()),
            // A gateway that takes one tester, has none, and takes this much.
            0x4001 => framed(0x4002, &[0, 1, 0, 0, 0, 0x10, 0]),
            // Ready.
            0x4003 => framed(0x4004, &[1]),
            _ => None,
        }
    }

    fn send(&mut self, at: Timestamp, kind: u16, content: &[u8]) {
        let message = framed(kind, content).expect("no message has 2^32 bytes");
        // Behind everything that leaves at that moment or before.
        let place = self.out.partition_point(|(other, _)| *other <= at);
        self.out.insert(place, (at, message));
    }

    /// When something leaves next, or the connection ends for want of a sign of life.
    pub fn due(&self) -> Option<Timestamp> {
        self.out.front().map(|(at, _)| *at).into_iter().chain(self.alive_until).min()
    }

    /// What leaves until now.
    pub fn emit(&mut self, now: Timestamp) -> Vec<u8> {
        let mut bytes = Vec::new();
        while self.out.front().is_some_and(|(at, _)| *at <= now)
            && let Some((_, message)) = self.out.pop_front()
        {
            bytes.extend(message);
        }
        if self.alive_until.is_some_and(|until| until <= now) {
            self.ended = true;
        }
        bytes
    }

    /// Whether the gateway ends the connection, once everything has left.
    pub const fn is_ended(&self) -> bool {
        self.ended
    }
}
