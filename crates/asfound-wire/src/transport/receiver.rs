//! Messages of one channel as their receiver takes them, with flow control (ISO 15765-2): no bus, no clock.
//!
//! An [`Assembler`](super::Assembler) only listens, and mends what a log lacks; a receiver keeps to the standard.

use std::time::Duration;

use super::{CanChannel, Pci, TransportFailure};
use crate::frame::{CanFrame, Timestamp};

/// How a receiver takes messages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reception {
    /// How long it waits for the next frame (`N_Cr`).
    pub next: Duration,
    /// After how many frames it sends a flow control; 0 for never again.
    pub block: u8,
    /// The least time between frames that it asks for, as coded.
    pub gap: u8,
    /// The longest message that it takes, in bytes.
    pub largest: u32,
    /// What fills its flow controls; `None` leaves them short.
    pub filler: Option<u8>,
}

impl Default for Reception {
    /// One second (the limit of ISO 15765-2), everything at once, up to 4,095 bytes, filled with AA.
    fn default() -> Self {
        Self { next: Duration::from_secs(1), block: 0, gap: 0, largest: 4095, filler: Some(0xAA) }
    }
}

/// What comes of a frame, or of time.
#[derive(Debug, Clone)]
pub enum ReceiverStep {
    /// This frame is to be sent: a flow control.
    Send(CanFrame),
    /// A message.
    Message(Vec<u8>),
    /// A message that did not get through.
    Failed(TransportFailure),
}

#[derive(Debug)]
struct BegunReception {
    length: usize,
    bytes: Vec<u8>,
    next: u8,
    left_in_block: u8,
    until: Timestamp,
}

/// Messages of one channel as their receiver takes them.
#[derive(Debug)]
pub struct MessageReceiver {
    from: CanChannel,
    to: CanChannel,
    how: Reception,
    begun: Option<BegunReception>,
}

impl MessageReceiver {
    /// A receiver of what comes on `from`; its flow controls go to `to`.
    pub const fn new(from: CanChannel, to: CanChannel, how: Reception) -> Self {
        Self { from, to, how, begun: None }
    }

    /// Whether a frame is of the channel that is listened to.
    pub fn takes(&self, frame: &CanFrame) -> bool {
        frame.is_data() && CanChannel::of(frame, self.from.addressing()) == Some(self.from)
    }

    /// Takes a frame of the channel. Flow controls are for whoever sends, and passed over.
    pub fn frame(&mut self, frame: &CanFrame, now: Timestamp, out: &mut dyn FnMut(ReceiverStep)) {
        let offset = self.from.addressing().offset();
        // Frames that are none of the transport are passed over (ISO 15765-2).
        let Ok(pci) = Pci::read(frame.data().get(offset..).unwrap_or_default(), offset) else { return };
        match pci {
            Pci::Single { data, .. } => {
                self.interrupt(out);
                out(ReceiverStep::Message(data.to_vec()));
            }
            Pci::First { length, data } => {
                self.interrupt(out);
                if length > self.how.largest {
                    self.control(2, out);
                    out(ReceiverStep::Failed(TransportFailure::BufferOvflw));
                    return;
                }
                let (bytes, until) = (data.to_vec(), now.after(self.how.next));
                let length = length as usize;
                self.begun = Some(BegunReception { length, bytes, next: 1, left_in_block: self.how.block, until });
                self.control(0, out);
            }
            Pci::Consecutive { number, data } => self.consecutive(number, data, now, out),
            Pci::Flow { .. } => {}
        }
    }

    fn interrupt(&mut self, out: &mut dyn FnMut(ReceiverStep)) {
        if self.begun.take().is_some() {
            out(ReceiverStep::Failed(TransportFailure::UnexpPdu));
        }
    }

    fn consecutive(&mut self, number: u8, data: &[u8], now: Timestamp, out: &mut dyn FnMut(ReceiverStep)) {
        let Some(begun) = &mut self.begun else { return };
        if number != begun.next {
            let why = TransportFailure::WrongSn { expected: begun.next, got: number };
            self.begun = None;
            return out(ReceiverStep::Failed(why));
        }
        let missing = begun.length - begun.bytes.len();
        begun.bytes.extend_from_slice(&data[..missing.min(data.len())]);
        begun.next = (begun.next + 1) & 0x0F;
        begun.until = now.after(self.how.next);
        if begun.bytes.len() == begun.length {
            let bytes = std::mem::take(&mut begun.bytes);
            self.begun = None;
            return out(ReceiverStep::Message(bytes));
        }
        if begun.left_in_block > 0 {
            begun.left_in_block -= 1;
            if begun.left_in_block == 0 {
                begun.left_in_block = self.how.block;
                self.control(0, out);
            }
        }
    }

    /// Sends a flow control: 0 go on, 2 overflow.
    fn control(&self, status: u8, out: &mut dyn FnMut(ReceiverStep)) {
        let mut bytes: Vec<u8> = self.to.address.into_iter().collect();
        bytes.extend([0x30 | status, self.how.block, self.how.gap]);
        if let Some(filler) = self.how.filler {
            bytes.resize(8, filler);
        }
        let frame = CanFrame::new(self.to.id, &bytes).expect("a flow control has up to eight bytes");
        out(ReceiverStep::Send(CanFrame { interface: self.to.interface, ..frame }));
    }

    /// Time went on.
    pub fn time(&mut self, now: Timestamp, out: &mut dyn FnMut(ReceiverStep)) {
        if self.begun.as_ref().is_some_and(|begun| begun.until <= now) {
            self.begun = None;
            out(ReceiverStep::Failed(TransportFailure::TimeoutCr));
        }
    }

    /// When [`time`](Self::time) is to be called at the latest.
    pub fn due(&self) -> Option<Timestamp> {
        self.begun.as_ref().map(|begun| begun.until)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::{MessageSender, Segmentation, SenderStep, SenderTiming};
    use super::*;
    use crate::frame::{CanId, Interface};

    fn channel(id: u32, address: Option<u8>) -> CanChannel {
        CanChannel { interface: Interface::UNNAMED, id: CanId::standard(id).unwrap(), address }
    }

    fn at(milliseconds: u64) -> Timestamp {
        Timestamp::from_nanoseconds(milliseconds * 1_000_000)
    }

    fn receiver(how: Reception) -> MessageReceiver {
        MessageReceiver::new(channel(0x7E8, None), channel(0x7E0, None), how)
    }

    fn take(receiver: &mut MessageReceiver, data: &str, now: u64) -> Vec<String> {
        let bytes: Vec<u8> =
            (0..data.len()).step_by(2).map(|at| u8::from_str_radix(&data[at..at + 2], 16).unwrap()).collect();
        let frame = CanFrame::new(CanId::standard(0x7E8).unwrap(), &bytes).unwrap();
        assert!(receiver.takes(&frame));
        let mut steps = Vec::new();
        receiver.frame(&frame, at(now), &mut |step| steps.push(text(&step)));
        steps
    }

    fn text(step: &ReceiverStep) -> String {
        let hex = |bytes: &[u8]| bytes.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().concat();
        match step {
            ReceiverStep::Send(frame) => format!("{}#{}", frame.id, hex(frame.data())),
            ReceiverStep::Message(bytes) => hex(bytes),
            ReceiverStep::Failed(why) => why.to_string().split(':').next().unwrap_or_default().to_owned(),
        }
    }

    /// The frames of the check values: produced by can-isotp 2.0.7 on a virtual bus, block size 2.
    #[test]
    fn a_message_of_can_isotp_is_received_with_its_flow_controls() {
        let mut receiver = receiver(Reception { block: 2, filler: None, ..Reception::default() });
        let none: [&str; 0] = [];
        assert_eq!(take(&mut receiver, "102062F190314734", 0), ["7E0#300200"]);
        assert_eq!(take(&mut receiver, "2141483539483435", 1), none);
        assert_eq!(take(&mut receiver, "2247313138333431", 2), ["7E0#300200"]);
        assert_eq!(take(&mut receiver, "2300000000000000", 3), none);
        let whole = "62F1903147344148353948343547313138333431000000000000000000000000";
        assert_eq!(take(&mut receiver, "240000000000AAAA", 4), [whole]);
        assert_eq!(receiver.due(), None);
    }

    #[test]
    fn n_timeout_cr() {
        let mut receiver = receiver(Reception::default());
        take(&mut receiver, "102062F190314734", 0);
        let mut steps = Vec::new();
        receiver.time(at(999), &mut |step| steps.push(text(&step)));
        assert!(steps.is_empty());
        receiver.time(at(1000), &mut |step| steps.push(text(&step)));
        assert_eq!(steps, ["N_TIMEOUT_Cr"]);
    }

    #[test]
    fn n_wrong_sn() {
        let mut receiver = receiver(Reception::default());
        take(&mut receiver, "102062F190314734", 0);
        assert_eq!(take(&mut receiver, "2241483539483435", 1), ["N_WRONG_SN"]);
        assert_eq!(take(&mut receiver, "2341483539483435", 2), Vec::<String>::new());
    }

    #[test]
    fn n_unexp_pdu() {
        let mut receiver = receiver(Reception::default());
        take(&mut receiver, "102062F190314734", 0);
        assert_eq!(take(&mut receiver, "037F2231AAAAAAAA", 1), ["N_UNEXP_PDU", "7F2231"]);
        take(&mut receiver, "102062F190314734", 2);
        assert_eq!(take(&mut receiver, "102062F190314734", 3), ["N_UNEXP_PDU", "7E0#300000AAAAAAAAAA"]);
    }

    #[test]
    fn a_message_that_is_too_long_is_refused() {
        let mut receiver = receiver(Reception { largest: 100, ..Reception::default() });
        assert_eq!(take(&mut receiver, "106562F190314734", 0), ["7E0#320000AAAAAAAAAA", "N_BUFFER_OVFLW"]);
    }

    proptest! {
        #[test]
        fn what_a_sender_sends_a_receiver_gets(
            payload in prop::collection::vec(any::<u8>(), 1..600),
            address in prop::option::of(any::<u8>()),
            frame_bytes in prop::sample::select(vec![8usize, 12, 32, 64]),
            filler in prop::option::of(any::<u8>()),
            block in 0u8..5,
            gap in any::<u8>(),
        ) {
            let (out, back) = (channel(0x7E8, address), channel(0x7E0, address));
            let how = Segmentation { frame_bytes, filler };
            let mut sender = MessageSender::new(&out, &payload, how, SenderTiming::default(), at(0)).unwrap();
            let mut receiver = MessageReceiver::new(out, back, Reception { block, gap, ..Reception::default() });
            let (mut now, mut got) = (at(0), None);
            for _ in 0..2000 {
                match sender.step(now) {
                    SenderStep::Send(frame) => {
                        sender.left(now);
                        let mut controls = Vec::new();
                        receiver.frame(&frame, now, &mut |step| match step {
                            ReceiverStep::Send(control) => controls.push(control),
                            ReceiverStep::Message(bytes) => got = Some(bytes),
                            ReceiverStep::Failed(why) => panic!("{why}"),
                        });
                        for control in controls {
                            let offset = usize::from(address.is_some());
                            sender.flow(Pci::read(&control.data()[offset..], offset), now);
                        }
                    }
                    SenderStep::Wait => now = sender.due().unwrap(),
                    SenderStep::Done => break,
                    SenderStep::Failed(why) => panic!("{why}"),
                }
            }
            prop_assert_eq!(got, Some(payload));
        }

        #[test]
        fn any_frames_are_taken(frames in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..9), 0..40)) {
            let mut receiver = receiver(Reception::default());
            for (now, data) in (0..).zip(&frames) {
                let frame = CanFrame::new(CanId::standard(0x7E8).unwrap(), data).unwrap();
                receiver.frame(&frame, at(now), &mut |step| {
                    if let ReceiverStep::Message(bytes) = step {
                        assert!(!bytes.is_empty() && bytes.len() <= 4095);
                    }
                });
            }
        }
    }
}
