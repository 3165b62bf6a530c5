//! One message on its way out, with flow control (ISO 15765-2): no bus, no clock.

use std::collections::VecDeque;
use std::time::Duration;

use super::{CanChannel, FlowStatus, Pci, PciError, Segmentation, TransportFailure, segments};
use crate::frame::{CanFrame, Timestamp};

/// How long a sender waits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SenderTiming {
    /// Until a frame has left (`N_As`).
    pub leaves: Duration,
    /// For a flow control (`N_Bs`).
    pub flow: Duration,
    /// How often the receiver may ask to wait (`N_WFTmax`).
    pub waits: u32,
}

impl Default for SenderTiming {
    /// The limits of ISO 15765-2, one second each; eight times waiting (no number in the standard).
    fn default() -> Self {
        Self { leaves: Duration::from_secs(1), flow: Duration::from_secs(1), waits: 8 }
    }
}

/// What a sender does next.
#[derive(Debug, Clone)]
pub enum SenderStep {
    /// This frame is to be sent now; [`MessageSender::left`] says when it has left.
    Send(CanFrame),
    /// Nothing until [`MessageSender::due`], or until something comes.
    Wait,
    /// The whole message has left.
    Done,
    /// It did not get through.
    Failed(TransportFailure),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    /// The next frame may leave at this moment.
    Ready(Timestamp),
    /// A frame is on its way out.
    Leaving(Timestamp),
    /// A flow control is due before this moment.
    Flow(Timestamp),
    Done,
    Failed(TransportFailure),
}

/// One message on its way out, with flow control.
#[derive(Debug)]
pub struct MessageSender {
    frames: VecDeque<CanFrame>,
    timing: SenderTiming,
    state: State,
    /// Frames until the next flow control; nothing where none is due any more.
    block: Option<u8>,
    gap: Duration,
    waits: u32,
    is_first: bool,
}

impl MessageSender {
    /// A message that may leave from a moment on. `None` where it cannot be cut so.
    pub fn new(
        channel: &CanChannel,
        payload: &[u8],
        how: Segmentation,
        timing: SenderTiming,
        now: Timestamp,
    ) -> Option<Self> {
        let frames = segments(channel, payload, how)?.into();
        let (state, gap) = (State::Ready(now), Duration::ZERO);
        Some(Self { frames, timing, state, block: None, gap, waits: 0, is_first: true })
    }

    /// What to do at this moment.
    pub fn step(&mut self, now: Timestamp) -> SenderStep {
        match self.state {
            State::Ready(at) if at <= now => {
                let Some(frame) = self.frames.pop_front() else {
                    self.state = State::Done;
                    return SenderStep::Done;
                };
                self.state = State::Leaving(now.after(self.timing.leaves));
                SenderStep::Send(frame)
            }
            State::Leaving(until) if until <= now => self.fail(TransportFailure::TimeoutA),
            State::Flow(until) if until <= now => self.fail(TransportFailure::TimeoutBs),
            State::Ready(_) | State::Leaving(_) | State::Flow(_) => SenderStep::Wait,
            State::Done => SenderStep::Done,
            State::Failed(why) => SenderStep::Failed(why),
        }
    }

    fn fail(&mut self, why: TransportFailure) -> SenderStep {
        self.state = State::Failed(why);
        SenderStep::Failed(why)
    }

    /// The frame has left.
    pub fn left(&mut self, now: Timestamp) {
        if !matches!(self.state, State::Leaving(_)) {
            return;
        }
        let was_first = std::mem::take(&mut self.is_first);
        if let (Some(block), false) = (&mut self.block, was_first) {
            *block = block.saturating_sub(1);
        }
        self.state = if self.frames.is_empty() {
            State::Done
        } else if was_first || self.block == Some(0) {
            State::Flow(now.after(self.timing.flow))
        } else {
            State::Ready(now.after(self.gap))
        };
    }

    /// A flow control came. Where none is due it is passed over.
    pub fn flow(&mut self, control: Result<Pci<'_>, PciError>, now: Timestamp) {
        if !matches!(self.state, State::Flow(_)) {
            return;
        }
        match control {
            Ok(Pci::Flow { status: FlowStatus::Continue, block, gap, .. }) => {
                self.block = (block > 0).then_some(block);
                (self.gap, self.waits) = (separation(gap), 0);
                self.state = State::Ready(now);
            }
            Ok(Pci::Flow { status: FlowStatus::Wait, .. }) => {
                self.waits += 1;
                self.state = if self.waits > self.timing.waits {
                    State::Failed(TransportFailure::WftOvrn)
                } else {
                    State::Flow(now.after(self.timing.flow))
                };
            }
            Ok(Pci::Flow { status: FlowStatus::Overflow, .. }) => {
                self.state = State::Failed(TransportFailure::BufferOvflw);
            }
            Err(PciError::Flow) => self.state = State::Failed(TransportFailure::InvalidFs),
            Ok(_) | Err(_) => {}
        }
    }

    /// When [`step`](Self::step) is to be called at the latest.
    pub const fn due(&self) -> Option<Timestamp> {
        match self.state {
            State::Ready(at) | State::Leaving(at) | State::Flow(at) => Some(at),
            State::Done | State::Failed(_) => None,
        }
    }
}

/// The least time between frames (`STmin`): milliseconds up to 7F, hundreds of microseconds from F1 to F9; what is reserved counts as the
/// longest.
pub const fn separation(coded: u8) -> Duration {
    match coded {
        0x00..=0x7F => Duration::from_millis(coded as u64),
        0xF1..=0xF9 => Duration::from_micros((coded as u64 - 0xF0) * 100),
        _ => Duration::from_millis(0x7F),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::{CanId, Interface};

    fn channel() -> CanChannel {
        CanChannel { interface: Interface::UNNAMED, id: CanId::standard(0x7E8).unwrap(), address: None }
    }

    fn at(milliseconds: u64) -> Timestamp {
        Timestamp::from_nanoseconds(milliseconds * 1_000_000)
    }

    fn sender(bytes: &[u8]) -> MessageSender {
        let how = Segmentation { frame_bytes: 8, filler: Some(0xAA) };
        MessageSender::new(&channel(), bytes, how, SenderTiming::default(), at(0)).unwrap()
    }

    fn sent(sender: &mut MessageSender, now: u64) -> String {
        let SenderStep::Send(frame) = sender.step(at(now)) else { panic!("nothing is sent") };
        sender.left(at(now));
        frame.data().iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().concat()
    }

    fn failed(sender: &mut MessageSender, now: u64) -> Option<TransportFailure> {
        match sender.step(at(now)) {
            SenderStep::Failed(why) => Some(why),
            _ => None,
        }
    }

    /// The frames of the check values: produced by can-isotp 2.0.7 on a virtual bus, block size 2.
    #[test]
    fn a_message_leaves_as_can_isotp_sends_it() {
        let mut message = vec![0x62, 0xF1, 0x90];
        message.extend(b"1G4AH59H45G118341");
        message.resize(32, 0);
        let mut sender = sender(&message);
        assert_eq!(sent(&mut sender, 0), "102062F190314734");
        assert!(matches!(sender.step(at(1)), SenderStep::Wait));
        sender.flow(Pci::read(&[0x30, 2, 0], 0), at(2));
        assert_eq!(sent(&mut sender, 2), "2141483539483435");
        assert_eq!(sent(&mut sender, 2), "2247313138333431");
        assert!(matches!(sender.step(at(3)), SenderStep::Wait));
        sender.flow(Pci::read(&[0x30, 2, 0], 0), at(4));
        assert_eq!(sent(&mut sender, 4), "2300000000000000");
        assert_eq!(sent(&mut sender, 4), "240000000000AAAA");
        assert!(matches!(sender.step(at(4)), SenderStep::Done));
    }

    #[test]
    fn frames_keep_their_distance() {
        let mut sender = sender(&[7; 30]);
        sent(&mut sender, 0);
        sender.flow(Pci::read(&[0x30, 0, 20], 0), at(1));
        sent(&mut sender, 1);
        assert!(matches!(sender.step(at(20)), SenderStep::Wait));
        assert_eq!(sender.due(), Some(at(21)));
        sent(&mut sender, 21);
        assert_eq!(separation(0x7F), Duration::from_millis(127));
        assert_eq!(separation(0xF3), Duration::from_micros(300));
        assert_eq!(separation(0x80), Duration::from_millis(127));
    }

    #[test]
    fn a_short_message_needs_no_flow_control() {
        let mut sender = sender(&[0x22, 0xF1, 0x90]);
        assert_eq!(sent(&mut sender, 0), "0322F190AAAAAAAA");
        assert!(matches!(sender.step(at(0)), SenderStep::Done));
    }

    #[test]
    fn n_timeout_a() {
        let mut sender = sender(&[1]);
        assert!(matches!(sender.step(at(0)), SenderStep::Send(_)));
        assert_eq!(failed(&mut sender, 999), None);
        assert_eq!(failed(&mut sender, 1000), Some(TransportFailure::TimeoutA));
    }

    #[test]
    fn n_timeout_bs() {
        let mut sender = sender(&[7; 30]);
        sent(&mut sender, 0);
        assert_eq!(failed(&mut sender, 999), None);
        assert_eq!(failed(&mut sender, 1000), Some(TransportFailure::TimeoutBs));
    }

    #[test]
    fn n_invalid_fs() {
        let mut sender = sender(&[7; 30]);
        sent(&mut sender, 0);
        sender.flow(Pci::read(&[0x33, 0, 0], 0), at(1));
        assert_eq!(failed(&mut sender, 1), Some(TransportFailure::InvalidFs));
    }

    #[test]
    fn n_wft_ovrn() {
        let mut sender = sender(&[7; 30]);
        sent(&mut sender, 0);
        for wait in 1..=8 {
            sender.flow(Pci::read(&[0x31, 0, 0], 0), at(wait * 900));
            assert_eq!(failed(&mut sender, wait * 900 + 899), None);
        }
        sender.flow(Pci::read(&[0x31, 0, 0], 0), at(8000));
        assert_eq!(failed(&mut sender, 8000), Some(TransportFailure::WftOvrn));
    }

    #[test]
    fn n_buffer_ovflw() {
        let mut sender = sender(&[7; 30]);
        sent(&mut sender, 0);
        sender.flow(Pci::read(&[0x32, 0, 0], 0), at(1));
        assert_eq!(failed(&mut sender, 1), Some(TransportFailure::BufferOvflw));
    }
}
