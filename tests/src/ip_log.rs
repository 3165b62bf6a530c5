//! Captures of diagnostics on IP that never were: a tester and the modules behind a gateway of an invented vehicle.

use time::{Duration, OffsetDateTime};

use crate::bus::bytes;

/// The tester, of the range that ISO 13400-2 gives to external equipment, and the gateway.
const TESTER: u16 = 0x0E80;
const GATEWAY: u16 = 0x0001;
/// The port of ISO 13400-2, and one of the tester's.
const PORT: u16 = 13_400;
const TESTERS_PORT: u16 = 50_123;

/// A capture in the old form (pcap) that is being written: Ethernet, IP version 4 and TCP without checksums, the messages
/// those of ISO 13400-2.
pub struct IpLog {
    packets: Vec<u8>,
    now: OffsetDateTime,
    /// The next sequence number of the tester and of the vehicle.
    sequence: [u32; 2],
    number: u16,
}

impl IpLog {
    /// A capture that begins at a moment, with a connection that the gateway accepts.
    pub fn at(now: OffsetDateTime) -> Self {
        let mut header = Vec::new();
        header.extend(0xA1B2_C3D4_u32.to_le_bytes());
        [2_u16, 4].iter().for_each(|version| header.extend(version.to_le_bytes()));
        // Time zone, accuracy, the longest packet, Ethernet.
        [0_u32, 0, 65_535, 1].iter().for_each(|word| header.extend(word.to_le_bytes()));
        let mut log = Self { packets: header, now, sequence: [1000, 2000], number: 0 };
        let [tester, gateway] = [TESTER, GATEWAY].map(u16::to_be_bytes);
        log.message(false, 0x0005, &[&tester[..], &[0; 5]].concat());
        log.message(true, 0x0006, &[&tester[..], &gateway, &[0x10, 0, 0, 0, 0]].concat());
        log
    }

    /// The capture.
    pub fn bytes(&self) -> &[u8] {
        &self.packets
    }

    /// Nothing for some time.
    pub fn wait(&mut self, time: Duration) -> &mut Self {
        self.now += time;
        self
    }

    fn packet(&mut self, from_vehicle: bool, payload: &[u8]) {
        self.now += Duration::microseconds(700);
        self.number += 1;
        let (own, other) = if from_vehicle { (2, 1) } else { (1, 2) };
        let ports = if from_vehicle { [PORT, TESTERS_PORT] } else { [TESTERS_PORT, PORT] };
        let sequence = &mut self.sequence[usize::from(from_vehicle)];
        let length = u16::try_from(40 + payload.len()).expect("a packet");
        let mut packet = vec![2, 0, 0, 0, 0, other, 2, 0, 0, 0, 0, own, 0x08, 0x00];
        packet.extend([0x45, 0]);
        packet.extend(length.to_be_bytes());
        packet.extend(self.number.to_be_bytes());
        packet.extend([0x40, 0, 64, 6, 0, 0, 192, 0, 2, own, 192, 0, 2, other]);
        ports.iter().for_each(|port| packet.extend(port.to_be_bytes()));
        packet.extend(sequence.to_be_bytes());
        packet.extend([0, 0, 0, 0, 0x50, 0x18, 0x20, 0, 0, 0, 0, 0]);
        packet.extend(payload);
        *sequence += u32::from(length) - 40;
        let seconds = u32::try_from(self.now.unix_timestamp()).expect("a moment of these years");
        let captured = u32::try_from(packet.len()).expect("a packet");
        [seconds, self.now.microsecond(), captured, captured]
            .iter()
            .for_each(|word| self.packets.extend(word.to_le_bytes()));
        self.packets.extend(packet);
    }

    /// A message with its generic header. It comes in two segments, as messages may.
    fn message(&mut self, from_vehicle: bool, kind: u16, content: &[u8]) {
        let length = u32::try_from(content.len()).expect("a message");
        let message = [&[2, 0xFD][..], &kind.to_be_bytes(), &length.to_be_bytes(), content].concat();
        let (first, rest) = message.split_at(message.len() - 3);
        self.packet(from_vehicle, first);
        self.packet(from_vehicle, rest);
    }

    /// A request to a module, in hexadecimal, which the gateway confirms.
    pub fn ask(&mut self, module: u16, request: &str) -> &mut Self {
        let [tester, module] = [TESTER, module].map(u16::to_be_bytes);
        self.message(false, 0x8001, &[&tester[..], &module, &bytes(request)].concat());
        self.message(true, 0x8002, &[&module[..], &tester, &[0]].concat());
        self
    }

    /// A response of a module, in hexadecimal.
    pub fn answer(&mut self, module: u16, response: &str) -> &mut Self {
        let [tester, module] = [TESTER, module].map(u16::to_be_bytes);
        self.message(true, 0x8001, &[&module[..], &tester, &bytes(response)].concat());
        self
    }

    /// A record is read.
    pub fn read(&mut self, module: u16, record: &str, content: &str) -> &mut Self {
        self.ask(module, &format!("22{record}")).answer(module, &format!("62{record}{content}"))
    }
}
