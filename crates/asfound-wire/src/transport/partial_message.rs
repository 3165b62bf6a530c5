//! A message of which not all has come.

use super::{CanChannel, FailedMessage, FailureReason, Mending, Mendings, Reassembled};
use crate::frame::Timestamp;
use crate::secrets;

/// A first frame that comes again within this time is the same one, logged twice; a sender that heard nothing waits longer before
/// it begins again (`N_Bs` of ISO 15765-2 is a second).
const SAME_FIRST: u64 = 100_000_000;

/// A frame that is missing in the middle.
#[derive(Debug, Clone, Copy)]
struct MissingFrame {
    /// Where its bytes would stand.
    at: usize,
    why: FailureReason,
}

/// A message of which not all has come.
#[derive(Debug)]
pub(super) struct PartialMessage {
    pub first_frame: u64,
    pub first: Option<Timestamp>,
    pub last: Option<Timestamp>,
    pub length: u32,
    /// What came, with zeros for a missing frame.
    bytes: Vec<u8>,
    /// How many of them the first frame had.
    head: usize,
    pub next: u8,
    pub frames: u32,
    /// Bytes in each full consecutive frame.
    full: usize,
    hole: Option<MissingFrame>,
    pub mended: Mendings,
}

/// What a consecutive frame did.
pub(super) enum ConsecutiveStep {
    /// It was taken; more is to come.
    Taken,
    /// It was the last.
    Last,
    /// It cannot be a part of this message.
    Wrong(FailureReason),
}

impl PartialMessage {
    pub fn new((number, moment): (u64, Option<Timestamp>), length: u32, data: &[u8], full: usize) -> Self {
        Self {
            first_frame: number,
            first: moment,
            last: moment,
            length,
            bytes: data.to_vec(),
            head: data.len(),
            next: 1,
            frames: 1,
            full,
            hole: None,
            mended: Mendings::default(),
        }
    }

    /// How many bytes came.
    pub fn have(&self) -> u32 {
        let missing = if self.hole.is_some() { self.full } else { 0 };
        u32::try_from(self.bytes.len() - missing).unwrap_or(u32::MAX)
    }

    /// Whether a first frame is the one that began this message, logged twice.
    pub fn is_first(&self, length: u32, data: &[u8], moment: Option<Timestamp>) -> bool {
        let soon = match (self.first, moment) {
            (Some(first), Some(now)) => now.since(first) <= SAME_FIRST,
            // Without times only while nothing has come since.
            _ => self.frames == 1,
        };
        soon && length == self.length && self.bytes.get(..self.head) == Some(data)
    }

    /// Where in the message the frame with this count stands that came before the one that is due now.
    fn place_before(&self, count: u8) -> Option<usize> {
        let back = usize::from(self.next.wrapping_sub(count) & 0x0F);
        let frames = (self.bytes.len() - self.head).div_ceil(self.full.max(1));
        // The sixteenth before has the number that is due.
        if back == 0 || back > frames { None } else { Some(self.head + (frames - back) * self.full) }
    }

    /// Whether a consecutive frame is one of the last that came, logged twice.
    pub fn came_before(&self, count: u8, data: &[u8]) -> bool {
        let Some(place) = self.place_before(count).filter(|place| self.hole.is_none_or(|hole| hole.at != *place))
        else {
            return false;
        };
        let known = &self.bytes[place..self.bytes.len().min(place + self.full)];
        data.get(..known.len()) == Some(known)
    }

    /// Whether a consecutive frame is due now.
    pub fn is_due(&self, count: u8) -> bool {
        count == self.next
    }

    /// Takes a consecutive frame. One that is missing before it leaves a hole, and one that comes late fills it.
    pub fn further(&mut self, count: u8, data: &[u8], moment: Option<Timestamp>) -> ConsecutiveStep {
        if let Some(hole) = self.hole
            && self.place_before(count) == Some(hole.at)
            && data.len() >= self.full
        {
            self.bytes[hole.at..hole.at + self.full].copy_from_slice(&data[..self.full]);
            self.hole = None;
            self.frames += 1;
            self.mended.insert(Mending::OutOfOrder);
            return ConsecutiveStep::Taken;
        }
        let mut missing = self.length as usize - self.bytes.len();
        if count != self.next {
            let why = FailureReason::WrongNumber { expected: self.next, got: count };
            // One whole frame, and not the last.
            let skips_one = count == (self.next + 1) & 0x0F && missing > self.full;
            if self.hole.is_some() || !skips_one {
                return ConsecutiveStep::Wrong(self.hole.map_or(why, |hole| hole.why));
            }
            self.hole = Some(MissingFrame { at: self.bytes.len(), why });
            self.bytes.resize(self.bytes.len() + self.full, 0);
            self.next = count;
            missing -= self.full;
        }
        if data.len() < missing.min(self.full) {
            return ConsecutiveStep::Wrong(self.hole.map_or(FailureReason::ShortFrame, |hole| hole.why));
        }
        self.bytes.extend_from_slice(&data[..missing.min(data.len())]);
        self.next = (self.next + 1) & 0x0F;
        self.frames += 1;
        self.last = moment;
        if missing <= self.full { ConsecutiveStep::Last } else { ConsecutiveStep::Taken }
    }

    /// The whole message; what is left of it, where a frame is missing.
    pub fn finish(mut self, channel: CanChannel) -> Result<Reassembled, FailedMessage> {
        if let Some(hole) = self.hole {
            let last = self.last;
            return Err(self.broken(channel, last, hole.why));
        }
        let blanked = secrets::blank(&mut self.bytes);
        Ok(Reassembled {
            channel,
            first_frame: self.first_frame,
            first: self.first,
            last: self.last,
            frames: self.frames,
            payload: self.bytes,
            blanked,
            mended: self.mended,
        })
    }

    /// What is left of the message.
    pub fn broken(mut self, channel: CanChannel, last: Option<Timestamp>, why: FailureReason) -> FailedMessage {
        secrets::blank(&mut self.bytes);
        let (mut partial, mut after) = (self.bytes, Vec::new());
        if let Some(hole) = self.hole {
            after = partial.split_off(hole.at + self.full);
            partial.truncate(hole.at);
        }
        FailedMessage {
            channel,
            first_frame: self.first_frame,
            first: self.first,
            last,
            partial,
            after,
            length: Some(self.length),
            mended: self.mended,
            why: self.hole.map_or(why, |hole| hole.why),
        }
    }
}
