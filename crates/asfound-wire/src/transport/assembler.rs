//! Puts the messages of one channel together.

use super::partial_message::{ConsecutiveStep, PartialMessage};
use super::{
    CanChannel, FailedMessage, FailureReason, FlowStatus, Mending, Mendings, Pci, Reassembled, TransportEvent,
};
use crate::frame::{CanFrame, Timestamp};
use crate::secrets;

/// The longest message that is put together, in bytes.
pub const MOST_BYTES: u32 = 1 << 20;
/// So many frames of one moment wait at most until it is known in which order they came.
const MOST_EARLY: usize = 64;

/// Puts the messages of one channel together, as somebody who only listens: whatever goes wrong becomes a value,
/// and nothing is thrown away silently.
///
/// Small faults of a log are put right, and the message says so: a frame that stands there twice; frames of one moment
/// that cannot have come in the order in which they stand.
#[derive(Debug)]
pub struct Assembler {
    channel: CanChannel,
    partly: Option<PartialMessage>,
    /// A stretch of frames without beginning was told already.
    astray: bool,
    /// Frames that cannot be next; others of the same moment may come before them.
    early: Vec<(u64, CanFrame)>,
    /// The last frame of the last message: its count and bytes.
    closing: Option<(u8, Vec<u8>)>,
}

impl Assembler {
    /// An assembler for one channel.
    pub const fn new(channel: CanChannel) -> Self {
        Self { channel, partly: None, astray: false, early: Vec::new(), closing: None }
    }

    /// Whether a message has begun and not ended.
    pub const fn is_within(&self) -> bool {
        self.partly.is_some() || !self.early.is_empty()
    }

    /// Whether frames wait for others of the same moment. [`settle`](Self::settle) ends that.
    pub const fn is_waiting(&self) -> bool {
        !self.early.is_empty()
    }

    /// Takes the channel's next frame, which has this number in the log. What comes of it goes to `out`.
    /// A flow control is given back: it concerns whom it answers.
    pub fn frame(&mut self, number: u64, frame: &CanFrame, out: &mut dyn FnMut(TransportEvent)) -> Option<FlowStatus> {
        let pci = match self.pci(frame) {
            Ok(Pci::Flow { status, .. }) => return Some(status),
            Ok(pci) => pci,
            Err(error) => {
                self.settle(out);
                out(TransportEvent::Broken(FailedMessage {
                    channel: self.channel,
                    first_frame: number,
                    first: frame.moment,
                    last: frame.moment,
                    // What cannot be told to be no secret is not kept.
                    partial: Vec::new(),
                    after: Vec::new(),
                    length: None,
                    mended: Mendings::default(),
                    why: error.into(),
                }));
                return None;
            }
        };
        if self.early.last().is_some_and(|(_, last)| last.moment != frame.moment) || self.early.len() >= MOST_EARLY {
            self.settle(out);
        }
        if !self.early.is_empty() {
            self.early.push((number, frame.clone()));
            self.take_what_fits(out);
        } else if frame.moment.is_none() || self.fits(pci, frame.moment) {
            self.take(number, frame, Mendings::default(), out);
        } else {
            self.early.push((number, frame.clone()));
        }
        None
    }

    /// No other frame of the same moment comes: those that wait are taken as they stand.
    pub fn settle(&mut self, out: &mut dyn FnMut(TransportEvent)) {
        while !self.early.is_empty() {
            let (number, frame) = self.early.remove(0);
            self.take(number, &frame, Mendings::default(), out);
            self.take_what_fits(out);
        }
    }

    /// The receiver gave up: its flow control said so.
    pub fn overflow(&mut self, moment: Option<Timestamp>, out: &mut dyn FnMut(TransportEvent)) {
        self.settle(out);
        self.give_up(moment, FailureReason::Overflow, out);
    }

    /// The log ends.
    pub fn finish(&mut self, out: &mut dyn FnMut(TransportEvent)) {
        self.settle(out);
        if let Some(partly) = &self.partly {
            let why = FailureReason::Unfinished { have: partly.have(), of: partly.length };
            let last = partly.last;
            self.give_up(last, why, out);
        }
    }

    fn pci<'f>(&self, frame: &'f CanFrame) -> Result<Pci<'f>, super::PciError> {
        let offset = self.channel.addressing().offset();
        Pci::read(frame.data().get(offset..).unwrap_or_default(), offset)
    }

    /// Takes of those that wait whatever can be next, until nothing can.
    fn take_what_fits(&mut self, out: &mut dyn FnMut(TransportEvent)) {
        loop {
            let fits = |(_, frame): &(u64, CanFrame)| self.pci(frame).is_ok_and(|pci| self.fits(pci, frame.moment));
            let Some(place) = self.early.iter().position(fits) else { return };
            let (number, frame) = self.early.remove(place);
            let mut mended = Mendings::default();
            if place > 0 {
                mended.insert(Mending::OutOfOrder);
            }
            self.take(number, &frame, mended, out);
        }
    }

    /// Whether a frame can be the next one.
    fn fits(&self, pci: Pci<'_>, moment: Option<Timestamp>) -> bool {
        match (&self.partly, pci) {
            (Some(partly), Pci::First { length, data }) => partly.is_first(length, data, moment),
            (Some(partly), Pci::Consecutive { number, data }) => {
                partly.is_due(number) || partly.came_before(number, data)
            }
            (Some(_), Pci::Single { .. }) => false,
            (None, Pci::Consecutive { number, data }) => self.has_closed(number, data),
            (None, _) | (Some(_), Pci::Flow { .. }) => true,
        }
    }

    /// Whether a frame is the last of the message before, logged twice.
    fn has_closed(&self, count: u8, data: &[u8]) -> bool {
        self.closing.as_ref().is_some_and(|(closed, bytes)| *closed == count && bytes == data)
    }

    fn take(&mut self, number: u64, frame: &CanFrame, mended: Mendings, out: &mut dyn FnMut(TransportEvent)) {
        match self.pci(frame) {
            Ok(Pci::Single { data, .. }) => {
                self.interrupt(frame.moment, out);
                (self.astray, self.closing) = (false, None);
                let mut payload = data.to_vec();
                let blanked = secrets::blank(&mut payload);
                out(TransportEvent::Whole(Reassembled {
                    channel: self.channel,
                    first_frame: number,
                    first: frame.moment,
                    last: frame.moment,
                    frames: 1,
                    payload,
                    blanked,
                    mended,
                }));
            }
            Ok(Pci::First { length, data }) => {
                if let Some(partly) = self.partly.as_mut().filter(|it| it.is_first(length, data, frame.moment)) {
                    partly.mended.insert(Mending::Doubled);
                    return;
                }
                self.interrupt(frame.moment, out);
                (self.astray, self.closing) = (false, None);
                let full = frame.data().len() - self.channel.addressing().offset() - 1;
                let partly = PartialMessage::new((number, frame.moment), length, data, full);
                self.partly.insert(partly).mended = mended;
                if length > MOST_BYTES {
                    self.give_up(frame.moment, FailureReason::TooLong(length), out);
                }
            }
            Ok(Pci::Consecutive { number: count, data }) => {
                let whole = (data, frame.moment);
                self.further((number, count), whole, mended, out);
            }
            Ok(Pci::Flow { .. }) | Err(_) => {}
        }
    }

    fn further(
        &mut self,
        (number, count): (u64, u8),
        (data, moment): (&[u8], Option<Timestamp>),
        mended: Mendings,
        out: &mut dyn FnMut(TransportEvent),
    ) {
        let Some(partly) = &mut self.partly else {
            if !self.astray && !self.has_closed(count, data) {
                self.astray = true;
                out(TransportEvent::Broken(FailedMessage {
                    channel: self.channel,
                    first_frame: number,
                    first: moment,
                    last: moment,
                    // They could be the rest of a key.
                    partial: Vec::new(),
                    after: Vec::new(),
                    length: None,
                    mended,
                    why: FailureReason::NoBeginning,
                }));
            }
            return;
        };
        if !partly.is_due(count) && partly.came_before(count, data) {
            partly.mended.insert(Mending::Doubled);
            return;
        }
        partly.mended = partly.mended.and(mended);
        match partly.further(count, data, moment) {
            ConsecutiveStep::Taken => {}
            ConsecutiveStep::Wrong(why) => self.give_up(moment, why, out),
            ConsecutiveStep::Last => {
                self.closing = Some((count, data.to_vec()));
                if let Some(partly) = self.partly.take() {
                    out(match partly.finish(self.channel) {
                        Ok(whole) => TransportEvent::Whole(whole),
                        Err(broken) => TransportEvent::Broken(broken),
                    });
                }
            }
        }
    }

    /// Another message begins.
    fn interrupt(&mut self, moment: Option<Timestamp>, out: &mut dyn FnMut(TransportEvent)) {
        if let Some(partly) = &self.partly {
            let why = FailureReason::Interrupted { have: partly.have(), of: partly.length };
            self.give_up(moment, why, out);
        }
    }

    fn give_up(&mut self, moment: Option<Timestamp>, why: FailureReason, out: &mut dyn FnMut(TransportEvent)) {
        let Some(partly) = self.partly.take() else { return };
        // What follows belongs to the message that was given up, and is told with it.
        self.astray = true;
        out(TransportEvent::Broken(partly.broken(self.channel, moment, why)));
    }
}
