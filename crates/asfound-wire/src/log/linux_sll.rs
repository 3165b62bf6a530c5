//! The headers that Linux puts in front of packets of any link ("cooked", link types 113 and 276 in the registry of
//! tcpdump.org).

use crate::frame::Direction;

/// What a cooked packet holds.
pub(super) struct LinuxSll<'a> {
    /// The protocol number; 000C is a CAN frame, 000D one of flexible data rate, 000E CAN XL.
    pub protocol: u16,
    pub direction: Option<Direction>,
    pub payload: &'a [u8],
}

pub(super) const CAN: u16 = 0x000C;
pub(super) const CAN_FLEXIBLE: u16 = 0x000D;
pub(super) const CAN_XL: u16 = 0x000E;

fn direction(packet_type: u16) -> Option<Direction> {
    match packet_type {
        0..=3 => Some(Direction::Received),
        4 => Some(Direction::Sent),
        _ => None,
    }
}

/// Link type 113: type, address type, address length, address, protocol: 16 bytes.
pub(super) fn version_1(packet: &[u8]) -> Option<LinuxSll<'_>> {
    let (head, payload) = packet.split_at_checked(16)?;
    Some(LinuxSll {
        protocol: u16::from_be_bytes([head[14], head[15]]),
        direction: direction(u16::from_be_bytes([head[0], head[1]])),
        payload,
    })
}

/// Link type 276: protocol, reserved, interface, address type, type, address length, address: 20 bytes.
pub(super) fn version_2(packet: &[u8]) -> Option<LinuxSll<'_>> {
    let (head, payload) = packet.split_at_checked(20)?;
    Some(LinuxSll {
        protocol: u16::from_be_bytes([head[0], head[1]]),
        direction: direction(u16::from(head[10])),
        payload,
    })
}
