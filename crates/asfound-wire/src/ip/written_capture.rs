//! Messages as a capture: what [`read_log`](crate::log::read_log) reads back.

use std::io;
use std::net::{IpAddr, SocketAddr};

use etherparse::PacketBuilder;

use super::PORT;
use crate::frame::Timestamp;

/// A message is cut into packets of at most this many bytes.
const MOST_IN_PACKET: usize = 1 << 15;

/// A capture (pcap, link type raw IP) of one connection, made of the messages that somebody sent and received.
///
/// The packets are made for it: whoever uses a socket sees no headers. Addresses and bytes are those of the connection; the vehicle's
/// port is written as [`PORT`], by which readers know the protocol. Sequence numbers count from 1.
#[derive(Debug, Clone)]
pub struct WrittenCapture {
    bytes: Vec<u8>,
    tester: SocketAddr,
    vehicle: IpAddr,
    /// The next sequence number of the tester and of the vehicle.
    sequence: [u32; 2],
}

impl WrittenCapture {
    /// A capture without any message.
    pub fn new(tester: SocketAddr, vehicle: IpAddr) -> Self {
        let mut bytes = Vec::new();
        // The magic number says that fractions of a second are microseconds.
        bytes.extend(0xA1B2_C3D4_u32.to_le_bytes());
        [2_u16, 4].iter().for_each(|version| bytes.extend(version.to_le_bytes()));
        // Time zone, accuracy, the longest packet, raw IP.
        [0_u32, 0, 1 << 18, 101].iter().for_each(|word| bytes.extend(word.to_le_bytes()));
        Self { bytes, tester, vehicle, sequence: [1, 1] }
    }

    /// Adds a message with its generic header.
    ///
    /// # Errors
    /// When the two addresses are not of one version of IP.
    pub fn message(&mut self, moment: Timestamp, from_vehicle: bool, message: &[u8]) -> io::Result<()> {
        for part in message.chunks(MOST_IN_PACKET) {
            self.packet(moment, from_vehicle, part)?;
        }
        Ok(())
    }

    fn packet(&mut self, moment: Timestamp, from_vehicle: bool, part: &[u8]) -> io::Result<()> {
        let (mut ends, mut ports) = ([self.tester.ip(), self.vehicle], [self.tester.port(), PORT]);
        if from_vehicle {
            ends.reverse();
            ports.reverse();
        }
        let head = match ends {
            [IpAddr::V4(from), IpAddr::V4(to)] => PacketBuilder::ipv4(from.octets(), to.octets(), 64),
            [IpAddr::V6(from), IpAddr::V6(to)] => PacketBuilder::ipv6(from.octets(), to.octets(), 64),
            _ => return Err(io::ErrorKind::InvalidInput.into()),
        };
        let sent = &mut self.sequence[usize::from(from_vehicle)];
        let tcp = head.tcp(ports[0], ports[1], *sent, 0x2000).ack(0).psh();
        *sent = sent.wrapping_add(u32::try_from(part.len()).unwrap_or(u32::MAX));
        let mut packet = Vec::with_capacity(tcp.size(part.len()));
        tcp.write(&mut packet, part).map_err(io::Error::other)?;
        let seconds = u32::try_from(moment.nanoseconds() / 1_000_000_000).unwrap_or(u32::MAX);
        let micros = u32::try_from(moment.nanoseconds() % 1_000_000_000 / 1000).unwrap_or(0);
        let length = u32::try_from(packet.len()).unwrap_or(u32::MAX);
        [seconds, micros, length, length].iter().for_each(|word| self.bytes.extend(word.to_le_bytes()));
        self.bytes.extend(packet);
        Ok(())
    }

    /// The capture as a file.
    pub fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }
}

#[cfg(test)]
mod tests {
    use super::super::{IpKind, framed};
    use super::*;
    use crate::log::{LogItem, read_log};

    #[test]
    fn what_is_written_is_read_as_it_was() {
        for (tester, vehicle) in [("192.0.2.2:50123", "192.0.2.1"), ("[2001:db8::2]:50123", "2001:db8::1")] {
            let mut capture = WrittenCapture::new(tester.parse().unwrap(), vehicle.parse().unwrap());
            let moment = |count: u64| Timestamp::from_nanoseconds(1_700_000_000_000_000_000 + count * 1_000_000);
            let head = [0x0E, 0x80, 0x00, 0x0E, 0x62, 0xF1, 0x90];
            let long: Vec<u8> = head.into_iter().chain(std::iter::repeat_n(7, 70_000)).collect();
            capture
                .message(moment(0), false, &framed(0x8001, &[0x0E, 0x80, 0, 0x0E, 0x22, 0xF1, 0x90]).unwrap())
                .unwrap();
            capture.message(moment(1), true, &framed(0x8001, &long).unwrap()).unwrap();
            capture.message(moment(2), true, &framed(0x0007, &[]).unwrap()).unwrap();
            let mut found = Vec::new();
            read_log(&capture.into_bytes()[..], |item| {
                if let LogItem::Ip(message) = item {
                    found.push((message.moment, message.from_vehicle, message.kind));
                }
            })
            .unwrap();
            assert_eq!(found.len(), 3);
            let asked =
                IpKind::Diagnostic { source: 0x0E80, target: 0x0E, payload: vec![0x22, 0xF1, 0x90], blanked: false };
            assert_eq!(found[0], (Some(moment(0)), false, asked));
            assert!(matches!(&found[1].2, IpKind::Diagnostic { payload, .. } if payload[..] == long[4..]));
            assert_eq!(found[2], (Some(moment(2)), true, IpKind::AliveRequest));
        }
    }
}
