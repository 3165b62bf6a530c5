//! One frame.

use super::{CanId, Interface, Timestamp};

/// What kind of frame it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FrameKind {
    /// A classic data frame, up to 8 bytes.
    Classic,
    /// A frame with flexible data rate (ISO 11898-1:2015), up to 64 bytes.
    Flexible,
    /// A remote frame: a question for data, without any.
    Remote,
    /// The driver's report of an error on the bus; its identifier and bytes are codes, not traffic.
    Error,
}

/// Which way a frame went, seen from the machine that logged it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// Received from the bus.
    Received,
    /// Sent by the logging machine.
    Sent,
}

/// One frame of a CAN bus. Made to be filled again and again without touching the heap.
#[derive(Debug, Clone)]
pub struct CanFrame {
    /// When it was logged, where the log says so.
    pub moment: Option<Timestamp>,
    /// Which bus.
    pub interface: Interface,
    /// Its identifier.
    pub id: CanId,
    /// What kind of frame.
    pub kind: FrameKind,
    /// Which way it went, where the log says so.
    pub direction: Option<Direction>,
    pub(crate) length: u8,
    pub(crate) bytes: [u8; 64],
}

impl CanFrame {
    /// An empty frame, to be filled.
    pub const fn empty() -> Self {
        Self {
            moment: None,
            interface: Interface::UNNAMED,
            id: CanId::of_11_bits(0),
            kind: FrameKind::Classic,
            direction: None,
            length: 0,
            bytes: [0; 64],
        }
    }

    /// A data frame; flexible where it has more than 8 bytes. `None` for more than 64.
    pub fn new(id: CanId, data: &[u8]) -> Option<Self> {
        let mut frame = Self::empty();
        frame.id = id;
        if data.len() > 8 {
            frame.kind = FrameKind::Flexible;
        }
        frame.bytes.get_mut(..data.len())?.copy_from_slice(data);
        frame.length = u8::try_from(data.len()).ok()?;
        Some(frame)
    }

    /// The data bytes.
    #[inline]
    pub fn data(&self) -> &[u8] {
        &self.bytes[..usize::from(self.length)]
    }

    /// Whether it carries data that somebody sent.
    #[inline]
    pub fn is_data(&self) -> bool {
        matches!(self.kind, FrameKind::Classic | FrameKind::Flexible)
    }
}
