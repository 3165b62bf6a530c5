//! CAN frames in captures, in the form of Linux's `SocketCAN`.
//!
//! The form is that of link type 227 in the registry of link types of tcpdump.org: identifier and flags in four bytes, length,
//! flags of flexible data rate, two reserved bytes, data. The registry says that the identifier's highest byte comes first;
//! captures with the lowest first exist (tshark has the option `can.byte_swap` for them), so the order is told from
//! which of the two reads as identifiers.

use crate::frame::{CanFrame, CanId, FrameKind};

const EXTENDED: u32 = 0x8000_0000;
const REMOTE: u32 = 0x4000_0000;
const ERROR: u32 = 0x2000_0000;
/// Bit of the fifth byte in CAN XL frames.
const XL: u8 = 0x80;
/// Bit of the sixth byte that marks flexible data rate.
const FLEXIBLE: u8 = 0x04;

/// Why a packet is no frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PacketRefusal {
    Short,
    Kind,
}

/// A frame whose identifier's order is not known yet.
#[derive(Debug, Clone)]
pub(super) struct Raw {
    id: [u8; 4],
    /// All but the identifier and what its flags say.
    frame: CanFrame,
}

/// Takes a packet apart; `frame` brings moment and interface along.
pub(super) fn raw(packet: &[u8], flexible: bool, mut frame: CanFrame) -> Result<Raw, PacketRefusal> {
    let [a, b, c, d, length, flags, _, _, data @ ..] = packet else { return Err(PacketRefusal::Short) };
    if length & XL != 0 && *length > 64 {
        return Err(PacketRefusal::Kind);
    }
    let count = usize::from(*length);
    frame.kind = if flexible || flags & FLEXIBLE != 0 || count > 8 { FrameKind::Flexible } else { FrameKind::Classic };
    let Some(into) = frame.bytes.get_mut(..count) else { return Err(PacketRefusal::Short) };
    match data.get(..count) {
        Some(data) => {
            into.copy_from_slice(data);
            frame.length = *length;
        }
        // A remote frame may tell a length and bring no bytes.
        None if data.is_empty() => frame.length = 0,
        None => return Err(PacketRefusal::Short),
    }
    Ok(Raw { id: [*a, *b, *c, *d], frame })
}

/// Finds the order of identifiers; holds frames back until it is known.
#[derive(Debug, Default)]
pub(super) struct IdOrder {
    decided: Option<bool>,
    highest_first: u32,
    lowest_first: u32,
    held: Vec<Raw>,
}

/// How many frames are looked at before the order is decided in any case.
const ENOUGH: usize = 256;
/// How many more frames must speak for one order than for the other.
const LEAD: u32 = 8;

impl IdOrder {
    /// Takes a frame, and gives out those that can be read now.
    pub fn take(&mut self, raw: Raw, out: &mut dyn FnMut(&CanFrame)) {
        if let Some(swapped) = self.decided {
            return out(&read(raw, swapped));
        }
        self.highest_first += u32::from(plausible(u32::from_be_bytes(raw.id)));
        self.lowest_first += u32::from(plausible(u32::from_le_bytes(raw.id)));
        self.held.push(raw);
        if self.held.len() >= ENOUGH || self.highest_first.abs_diff(self.lowest_first) >= LEAD {
            self.finish(out);
        }
    }

    /// Decides with what is known: where nothing speaks against it, the order that the registry says.
    pub fn finish(&mut self, out: &mut dyn FnMut(&CanFrame)) {
        let swapped = *self.decided.get_or_insert(self.lowest_first > self.highest_first);
        for raw in std::mem::take(&mut self.held) {
            out(&read(raw, swapped));
        }
    }

    pub fn swapped(&self) -> bool {
        self.decided == Some(true)
    }
}

fn plausible(id: u32) -> bool {
    let number = id & 0x1FFF_FFFF;
    if id & REMOTE != 0 && id & ERROR != 0 {
        return false;
    }
    // A 29-bit identifier below 800 is possible, but nobody gives one out.
    if id & EXTENDED != 0 { number > 0x7FF } else { number <= 0x7FF }
}

/// A frame whose identifier has the order in which it reads as one; where it does in both, the lowest byte first, as most
/// machines have it.
pub(super) fn read_either(raw: Raw) -> CanFrame {
    let swapped = plausible(u32::from_le_bytes(raw.id)) || !plausible(u32::from_be_bytes(raw.id));
    read(raw, swapped)
}

fn read(raw: Raw, swapped: bool) -> CanFrame {
    let id = if swapped { u32::from_le_bytes(raw.id) } else { u32::from_be_bytes(raw.id) };
    let mut frame = raw.frame;
    // What an error frame has there is a code of 29 bits, in every form of log.
    frame.id = if id & (EXTENDED | ERROR) != 0 { CanId::of_29_bits(id) } else { CanId::of_11_bits(id) };
    if id & ERROR != 0 {
        frame.kind = FrameKind::Error;
    } else if id & REMOTE != 0 {
        frame.kind = FrameKind::Remote;
        frame.length = 0;
    }
    frame
}
