//! Messages to frames: what the assembler undoes. For tests, examples and simulated vehicles.

use super::CanChannel;
use crate::frame::{CanFrame, FrameKind};

/// How a message is cut.
#[derive(Debug, Clone, Copy)]
pub struct Segmentation {
    /// Bytes in a full frame: 8, or 12, 16, 20, 24, 32, 48, 64 with flexible data rate.
    pub frame_bytes: usize,
    /// What fills frames up to 8 bytes; `None` leaves classic frames short. Longer frames are filled up to a length
    /// that exists, with 0 where there is no filler.
    pub filler: Option<u8>,
}

/// The lengths that a frame can have (ISO 11898-1, data length code).
const LENGTHS: [usize; 16] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64];

/// Cuts a message into the frames that carry it, without flow control. `None` for an empty message, for one of more
/// than 2³² − 1 bytes, and for a frame size that does not exist.
pub fn segments(channel: &CanChannel, payload: &[u8], how: Segmentation) -> Option<Vec<CanFrame>> {
    if how.frame_bytes < 8 || !LENGTHS.contains(&how.frame_bytes) || payload.is_empty() {
        return None;
    }
    let offset = channel.addressing().offset();
    let room = how.frame_bytes - offset;
    let small = 7 - offset;
    if payload.len() <= small {
        let length = u8::try_from(payload.len()).ok()?;
        return Some(vec![frame(*channel, &[length], payload, how)?]);
    }
    if how.frame_bytes > 8 && payload.len() <= room - 2 {
        let length = u8::try_from(payload.len()).ok()?;
        return Some(vec![frame(*channel, &[0, length], payload, how)?]);
    }
    let length = u32::try_from(payload.len()).ok()?;
    let [a, b, c, d] = length.to_be_bytes();
    let head: &[u8] = if length <= 4095 { &[0x10 | c, d] } else { &[0x10, 0, a, b, c, d] };
    let (first, rest) = payload.split_at(room - head.len());
    let mut frames = vec![frame(*channel, head, first, how)?];
    for (part, number) in rest.chunks(room - 1).zip((0..16u8).cycle().skip(1)) {
        frames.push(frame(*channel, &[0x20 | number], part, how)?);
    }
    Some(frames)
}

fn frame(channel: CanChannel, head: &[u8], data: &[u8], how: Segmentation) -> Option<CanFrame> {
    let mut bytes: Vec<u8> = channel.address.into_iter().collect();
    bytes.extend_from_slice(head);
    bytes.extend_from_slice(data);
    let least = if how.filler.is_some() { 8 } else { 0 };
    let length = LENGTHS.into_iter().find(|length| *length >= bytes.len().max(least))?;
    bytes.resize(length, how.filler.unwrap_or(0));
    let mut frame = CanFrame::new(channel.id, &bytes)?;
    frame.interface = channel.interface;
    if how.frame_bytes > 8 {
        frame.kind = FrameKind::Flexible;
    }
    Some(frame)
}
