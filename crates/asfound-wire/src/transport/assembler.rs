//! Puts the messages of one channel together.

use super::{Broken, BrokenWhy, CanChannel, FlowStatus, Pci, Transported, Whole};
use crate::frame::{CanFrame, Moment};
use crate::secrets;

/// The longest message that is put together, in bytes.
pub const MOST_BYTES: u32 = 1 << 20;

/// A message of which not all has come.
#[derive(Debug)]
struct Partly {
    first_frame: u64,
    first: Option<Moment>,
    last: Option<Moment>,
    length: u32,
    bytes: Vec<u8>,
    next: u8,
    frames: u32,
    /// Bytes in each full consecutive frame.
    full: usize,
}

/// Puts the messages of one channel together, as somebody who only listens: whatever goes wrong becomes a value,
/// and nothing is thrown away silently.
#[derive(Debug)]
pub struct Assembler {
    channel: CanChannel,
    partly: Option<Partly>,
    /// A stretch of frames without beginning was told already.
    astray: bool,
}

impl Assembler {
    /// An assembler for one channel.
    pub const fn new(channel: CanChannel) -> Self {
        Self { channel, partly: None, astray: false }
    }

    /// Whether a message has begun and not ended.
    pub const fn is_within(&self) -> bool {
        self.partly.is_some()
    }

    /// Takes the channel's next frame, which has this number in the log. What comes of it goes to `out`.
    /// A flow control is given back: it concerns whom it answers.
    pub fn frame(&mut self, number: u64, frame: &CanFrame, out: &mut dyn FnMut(Transported)) -> Option<FlowStatus> {
        let offset = self.channel.addressing().offset();
        let bytes = frame.data().get(offset..).unwrap_or_default();
        match Pci::read(bytes, offset) {
            Ok(Pci::Single { data, .. }) => {
                self.interrupt(frame.moment, out);
                self.astray = false;
                let mut payload = data.to_vec();
                let blanked = secrets::blank(&mut payload);
                out(Transported::Whole(Whole {
                    channel: self.channel,
                    first_frame: number,
                    first: frame.moment,
                    last: frame.moment,
                    frames: 1,
                    payload,
                    blanked,
                }));
            }
            Ok(Pci::First { length, data }) => {
                self.interrupt(frame.moment, out);
                self.astray = false;
                self.partly = Some(Partly {
                    first_frame: number,
                    first: frame.moment,
                    last: frame.moment,
                    length,
                    bytes: data.to_vec(),
                    next: 1,
                    frames: 1,
                    full: frame.data().len() - offset - 1,
                });
                if length > MOST_BYTES {
                    self.give_up(frame.moment, BrokenWhy::TooLong(length), out);
                }
            }
            Ok(Pci::Consecutive { number: count, data }) => self.further(number, count, data, frame.moment, out),
            Ok(Pci::Flow { status, .. }) => return Some(status),
            Err(error) => out(Transported::Broken(Broken {
                channel: self.channel,
                first_frame: number,
                first: frame.moment,
                last: frame.moment,
                // What cannot be told to be no secret is not kept.
                partial: Vec::new(),
                why: error.into(),
            })),
        }
        None
    }

    /// The receiver gave up: its flow control said so.
    pub fn overflow(&mut self, moment: Option<Moment>, out: &mut dyn FnMut(Transported)) {
        self.give_up(moment, BrokenWhy::Overflow, out);
    }

    /// The log ends.
    pub fn finish(&mut self, out: &mut dyn FnMut(Transported)) {
        if let Some(partly) = &self.partly {
            let why = BrokenWhy::Unfinished { have: count(&partly.bytes), of: partly.length };
            let last = partly.last;
            self.give_up(last, why, out);
        }
    }

    fn further(
        &mut self,
        number: u64,
        count: u8,
        data: &[u8],
        moment: Option<Moment>,
        out: &mut dyn FnMut(Transported),
    ) {
        let Some(partly) = &mut self.partly else {
            if !self.astray {
                self.astray = true;
                out(Transported::Broken(Broken {
                    channel: self.channel,
                    first_frame: number,
                    first: moment,
                    last: moment,
                    // They could be the rest of a key.
                    partial: Vec::new(),
                    why: BrokenWhy::NoBeginning,
                }));
            }
            return;
        };
        if count != partly.next {
            let why = BrokenWhy::WrongNumber { expected: partly.next, got: count };
            return self.give_up(moment, why, out);
        }
        let missing = partly.length as usize - partly.bytes.len();
        let last = missing <= partly.full;
        if data.len() < missing.min(partly.full) {
            return self.give_up(moment, BrokenWhy::ShortFrame, out);
        }
        partly.bytes.extend_from_slice(&data[..missing.min(data.len())]);
        partly.next = (partly.next + 1) & 0x0F;
        partly.frames += 1;
        partly.last = moment;
        if last && let Some(Partly { first_frame, first, last, mut bytes, frames, .. }) = self.partly.take() {
            let blanked = secrets::blank(&mut bytes);
            out(Transported::Whole(Whole {
                channel: self.channel,
                first_frame,
                first,
                last,
                frames,
                payload: bytes,
                blanked,
            }));
        }
    }

    /// Another message begins.
    fn interrupt(&mut self, moment: Option<Moment>, out: &mut dyn FnMut(Transported)) {
        if let Some(partly) = &self.partly {
            let why = BrokenWhy::Interrupted { have: count(&partly.bytes), of: partly.length };
            self.give_up(moment, why, out);
        }
    }

    fn give_up(&mut self, moment: Option<Moment>, why: BrokenWhy, out: &mut dyn FnMut(Transported)) {
        let Some(mut partly) = self.partly.take() else { return };
        // What follows belongs to the message that was given up, and is told with it.
        self.astray = true;
        secrets::blank(&mut partly.bytes);
        out(Transported::Broken(Broken {
            channel: self.channel,
            first_frame: partly.first_frame,
            first: partly.first,
            last: moment,
            partial: partly.bytes,
            why,
        }));
    }
}

fn count(bytes: &[u8]) -> u32 {
    u32::try_from(bytes.len()).unwrap_or(u32::MAX)
}
