//! Listens to a log and says what it hears.

use std::collections::HashMap;
use std::sync::Arc;

use super::blanked_frames::BlankedFrames;
use super::{Message, Sender};
use crate::frame::{CanFrame, CanId, Timestamp};
use crate::ip::{IpKind, IpMessage};
use crate::log::{LogItem, LogProblem, SkipIds};
use crate::pairing::{Finder, FrameVerdict, PairOverride, PairingResult, Pairs, Role};
use crate::transport::{
    Addressing, Assembler, BuildChannelHasher, CanChannel, FailedMessage, FlowStatus, Mending, Mendings, Reassembled,
    TransportEvent,
};

/// What is said beforehand.
#[derive(Debug, Clone, Default)]
pub struct ListenerOptions {
    /// Pairs that are taken as said.
    pub pairs: Vec<PairOverride>,
    /// Look for no other pairs.
    pub only_these_pairs: bool,
    /// Identifiers that are never taken for diagnostics.
    pub ordinary: Vec<CanId>,
    /// Also give out the frames of the conversations, with seeds and keys blanked.
    pub keep_frames: bool,
}

/// One thing heard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BusEvent {
    /// A whole message.
    Message(Message),
    /// A message that did not get through.
    Broken(FailedMessage),
    /// What diagnostics on IP say besides diagnostic messages.
    Ip(IpMessage),
    /// A piece of the log that could not be read.
    Problem(LogProblem),
}

/// What was heard altogether.
#[derive(Debug, Clone, Default)]
pub struct ListenerSummary {
    /// Data frames of a CAN bus.
    pub frames: u64,
    /// Remote frames and error frames, which carry no data.
    pub other_frames: u64,
    /// Frames of conversations.
    pub diagnostic_frames: u64,
    /// Flow controls that told a sender to wait.
    pub waits: u64,
    /// Pairs and what stayed without.
    pub found: PairingResult,
}

/// Takes the items of one log in their order, or of several that follow each other, finds the conversations and gives their messages out.
///
/// Messages of one pair come in the order of the log. A message that was logged before its pair was recognised comes
/// later than others; `number` says where it stood.
#[derive(Debug)]
pub struct Listener {
    finder: Finder,
    assemblers: HashMap<CanChannel, Assembler, BuildChannelHasher>,
    released: Vec<(u64, CanFrame)>,
    blanked: Option<BlankedFrames>,
    listened: ListenerSummary,
    number: u64,
    ip_number: u64,
    /// Channels with frames that wait for others of the same moment, and which moment that is.
    waiting: Vec<CanChannel>,
    waiting_at: Option<Timestamp>,
    /// How many frames there were when the present log began.
    log_began: u64,
}

/// As many channels as are put together at once.
const MOST_CHANNELS: usize = 1 << 12;

impl Listener {
    /// A listener for one log.
    pub fn new(options: ListenerOptions) -> Self {
        Self {
            finder: Finder::new(options.pairs, options.only_these_pairs, options.ordinary),
            assemblers: HashMap::default(),
            released: Vec::new(),
            blanked: options.keep_frames.then(BlankedFrames::default),
            listened: ListenerSummary::default(),
            number: 0,
            ip_number: 0,
            waiting: Vec::new(),
            waiting_at: None,
            log_began: 0,
        }
    }

    /// The pairs that are known so far.
    pub fn pairs(&self) -> &Pairs {
        self.finder.pairs()
    }

    /// Another log begins, which goes on where the last one ended.
    pub fn next_log(&mut self) {
        self.log_began = self.number;
    }

    /// Takes the next item of the log.
    #[inline]
    pub fn item(&mut self, item: LogItem<'_>, out: &mut dyn FnMut(BusEvent, &Pairs)) {
        match item {
            LogItem::Frame(frame) => self.frame(frame, out, &mut |_, _| {}),
            LogItem::Ordinary(count) => self.ordinary_frames(count),
            LogItem::Bus(..) => {}
            LogItem::Ip(message) => self.ip(message, out),
            LogItem::Problem(problem) => out(BusEvent::Problem(problem), self.finder.pairs()),
        }
    }

    /// The identifiers of which it is settled that they carry no diagnostics: frames of them may be given to
    /// [`ordinary_frames`](Self::ordinary_frames), which is quicker.
    pub fn ordinary(&self) -> Arc<SkipIds> {
        self.finder.ordinary_ids()
    }

    /// Takes the next data frames, which are all of identifiers of ordinary traffic.
    pub fn ordinary_frames(&mut self, count: u64) {
        self.listened.frames += count;
        self.number += count;
        self.finder.pass_over(count);
    }

    /// Takes the next frame. Frames of conversations go to `kept` with their number, where they are asked for.
    #[inline]
    pub fn frame(
        &mut self,
        frame: &CanFrame,
        out: &mut dyn FnMut(BusEvent, &Pairs),
        kept: &mut dyn FnMut(u64, &CanFrame),
    ) {
        if !frame.is_data() {
            self.listened.other_frames += 1;
            self.number += 1;
            return;
        }
        self.listened.frames += 1;
        self.number += 1;
        let verdict = self.finder.frame(self.number, frame, &mut self.released);
        if verdict == FrameVerdict::Other && self.released.is_empty() {
            return;
        }
        self.diagnostic(verdict, frame, out, kept);
    }

    #[inline(never)]
    fn diagnostic(
        &mut self,
        verdict: FrameVerdict,
        frame: &CanFrame,
        out: &mut dyn FnMut(BusEvent, &Pairs),
        kept: &mut dyn FnMut(u64, &CanFrame),
    ) {
        for (number, frame) in std::mem::take(&mut self.released) {
            if let Some(addressing) = self.addressing_of(&frame) {
                self.conversation(number, &frame, addressing, out, kept);
            }
        }
        if let FrameVerdict::Diagnostic(addressing) = verdict {
            self.conversation(self.number, frame, addressing, out, kept);
        }
    }

    /// The addressing that a frame turned out to have.
    fn addressing_of(&self, frame: &CanFrame) -> Option<Addressing> {
        let normal = CanChannel::of(frame, Addressing::Normal)?;
        if self.finder.pairs().role(&normal).is_some() { Some(Addressing::Normal) } else { Some(Addressing::Extended) }
    }

    fn conversation(
        &mut self,
        number: u64,
        frame: &CanFrame,
        addressing: Addressing,
        out: &mut dyn FnMut(BusEvent, &Pairs),
        kept: &mut dyn FnMut(u64, &CanFrame),
    ) {
        self.listened.diagnostic_frames += 1;
        if !self.waiting.is_empty() && self.waiting_at != frame.moment {
            self.settle(out);
        }
        if let Some(blanked) = &mut self.blanked {
            kept(number, &blanked.blank(frame, addressing));
        }
        let Some(channel) = CanChannel::of(frame, addressing) else { return };
        let assembler = match self.assemblers.get_mut(&channel) {
            Some(assembler) => assembler,
            None => {
                if self.assemblers.len() >= MOST_CHANNELS {
                    // Extended addressing has 256 channels on one identifier; those that are silent need no memory.
                    self.assemblers.retain(|_, assembler| assembler.is_within());
                }
                self.assemblers.entry(channel).or_insert_with(|| Assembler::new(channel))
            }
        };
        let pairs = self.finder.pairs();
        let place = LogPosition { now: number, log_began: self.log_began };
        let flow = assembler.frame(number, frame, &mut |transported| out(heard(transported, place, pairs), pairs));
        if assembler.is_waiting() && !self.waiting.contains(&channel) {
            self.waiting.push(channel);
            self.waiting_at = frame.moment;
        }
        match flow {
            Some(FlowStatus::Overflow) => {
                for other in pairs.others(&channel) {
                    if let Some(assembler) = self.assemblers.get_mut(other) {
                        assembler.overflow(frame.moment, &mut |transported| {
                            out(heard(transported, place, pairs), pairs);
                        });
                    }
                }
            }
            Some(FlowStatus::Wait) => self.listened.waits += 1,
            Some(FlowStatus::Continue) | None => {}
        }
    }

    /// The log's clock goes on: nothing else of the moment comes that frames wait for.
    fn settle(&mut self, out: &mut dyn FnMut(BusEvent, &Pairs)) {
        let pairs = self.finder.pairs();
        let place = LogPosition { now: self.number, log_began: self.log_began };
        for channel in std::mem::take(&mut self.waiting) {
            if let Some(assembler) = self.assemblers.get_mut(&channel) {
                assembler.settle(&mut |transported| out(heard(transported, place, pairs), pairs));
            }
        }
    }

    /// Takes the next message on IP.
    pub fn ip(&mut self, message: IpMessage, out: &mut dyn FnMut(BusEvent, &Pairs)) {
        self.ip_number += 1;
        let IpMessage { moment, from_vehicle, kind } = message;
        let heard = match kind {
            IpKind::Diagnostic { source, target, payload, blanked } => BusEvent::Message(Message {
                sender: Sender::Ip { source, target },
                role: if from_vehicle { Role::Response } else { Role::Request },
                number: self.ip_number,
                first: moment,
                last: moment,
                frames: 1,
                payload,
                blanked,
                mended: Mendings::default(),
            }),
            kind => BusEvent::Ip(IpMessage { moment, from_vehicle, kind }),
        };
        out(heard, self.finder.pairs());
    }

    /// The log ends.
    pub fn finish(mut self, out: &mut dyn FnMut(BusEvent, &Pairs)) -> ListenerSummary {
        let mut assemblers: Vec<_> = self.assemblers.into_iter().collect();
        assemblers.sort_by_key(|(channel, _)| *channel);
        let pairs = self.finder.pairs();
        let place = LogPosition { now: self.number, log_began: self.log_began };
        for (_, mut assembler) in assemblers {
            assembler.finish(&mut |transported| out(heard(transported, place, pairs), pairs));
        }
        self.listened.found = self.finder.finish();
        self.listened
    }
}

/// Where the logs have come to.
#[derive(Debug, Clone, Copy)]
struct LogPosition {
    now: u64,
    log_began: u64,
}

fn heard(transported: TransportEvent, place: LogPosition, pairs: &Pairs) -> BusEvent {
    match transported {
        TransportEvent::Broken(broken) => BusEvent::Broken(broken),
        TransportEvent::Whole(Reassembled {
            channel,
            first_frame,
            first,
            last,
            frames,
            payload,
            blanked,
            mut mended,
        }) => {
            if frames > 1 && first_frame <= place.log_began && place.now > place.log_began {
                mended.insert(Mending::AcrossLogs);
            }
            // Where no pair says it, the service does: responses have its bit set.
            let by_service = || match payload.first() {
                Some(first) if crate::pairing::is_response(*first) => Role::Response,
                _ => Role::Request,
            };
            let role = pairs.role(&channel).unwrap_or_else(by_service);
            let sender = Sender::Can(channel);
            BusEvent::Message(Message {
                sender,
                role,
                number: first_frame,
                first,
                last,
                frames,
                payload,
                blanked,
                mended,
            })
        }
    }
}
