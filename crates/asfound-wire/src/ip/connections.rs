//! All connections of a capture that carry diagnostics.

use std::collections::HashMap;
use std::net::SocketAddr;

use super::framing::{Framing, FramingStep};
use super::stream::{Stream, StreamPiece};
use super::{IpKind, IpMessage};
use crate::frame::Timestamp;
use crate::problem::ProblemKind;

/// The port of ISO 13400-2, for TCP and UDP.
pub const PORT: u16 = 13400;
/// How many directions are followed at once.
const MOST: usize = 64;

/// What a packet gave.
pub(super) type PacketContent = Result<IpMessage, ProblemKind>;

/// From whom, to whom.
type Endpoints = (SocketAddr, SocketAddr);

#[derive(Debug, Default)]
struct Side {
    stream: Stream,
    framing: Framing,
    used: u64,
}

/// Directions of connections, followed side by side.
#[derive(Debug, Default)]
pub(super) struct Connections {
    sides: HashMap<Endpoints, Side>,
    clock: u64,
}

impl Connections {
    /// Takes a segment: its flags (`begins`, `ends`), sequence number and bytes.
    pub fn segment(
        &mut self,
        way: Endpoints,
        moment: Option<Timestamp>,
        (begins, ends): (bool, bool),
        sequence: u32,
        bytes: &[u8],
        out: &mut dyn FnMut(PacketContent),
    ) {
        self.clock += 1;
        if !self.sides.contains_key(&way) && self.sides.len() >= MOST {
            let oldest = self.sides.iter().min_by_key(|(_, side)| side.used).map(|(way, _)| *way);
            if let Some(mut side) = oldest.and_then(|oldest| self.sides.remove(&oldest)) {
                side.end(way.0.port() == PORT, moment, out);
            }
            out(Err(ProblemKind::Connections));
        }
        let side = self.sides.entry(way).or_default();
        side.used = self.clock;
        let from_vehicle = way.0.port() == PORT;
        let sequence = if begins {
            side.end(from_vehicle, moment, out);
            side.stream.begin(sequence);
            sequence.wrapping_add(1)
        } else {
            sequence
        };
        let mut pieces = Vec::new();
        side.stream.take(sequence, bytes, &mut pieces);
        side.pieces(pieces, from_vehicle, moment, out);
        if ends && let Some(mut side) = self.sides.remove(&way) {
            side.end(from_vehicle, moment, out);
        }
    }

    /// Ends all that are still open.
    pub fn finish(&mut self, out: &mut dyn FnMut(PacketContent)) {
        let mut sides: Vec<_> = self.sides.drain().collect();
        sides.sort_by_key(|(way, _)| *way);
        for (way, mut side) in sides {
            side.end(way.0.port() == PORT, None, out);
        }
    }
}

impl Side {
    fn pieces(
        &mut self,
        pieces: Vec<StreamPiece>,
        from_vehicle: bool,
        moment: Option<Timestamp>,
        out: &mut dyn FnMut(PacketContent),
    ) {
        for piece in pieces {
            match piece {
                StreamPiece::Bytes(bytes) => {
                    self.framing.add(&bytes);
                    steps(&mut self.framing, from_vehicle, moment, out);
                }
                StreamPiece::Gap => {
                    self.framing.forget();
                    out(Err(ProblemKind::Gap));
                }
            }
        }
    }

    /// Gives out what is there, and tells of a message without its end.
    fn end(&mut self, from_vehicle: bool, moment: Option<Timestamp>, out: &mut dyn FnMut(PacketContent)) {
        let mut pieces = Vec::new();
        self.stream.finish(&mut pieces);
        self.pieces(pieces, from_vehicle, moment, out);
        if self.framing.forget() {
            out(Err(ProblemKind::Gap));
        }
    }
}

/// Gives out every message that is complete.
pub(super) fn steps(
    framing: &mut Framing,
    from_vehicle: bool,
    moment: Option<Timestamp>,
    out: &mut dyn FnMut(PacketContent),
) {
    while let Some(step) = framing.step() {
        out(match step {
            FramingStep::Message(kind) => Ok(message(kind, from_vehicle, moment)),
            FramingStep::PassedOver => Err(ProblemKind::NoMessage),
        });
    }
}

fn message(kind: IpKind, from_vehicle: bool, moment: Option<Timestamp>) -> IpMessage {
    IpMessage { moment, from_vehicle, kind }
}
