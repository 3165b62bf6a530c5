//! Frame by frame: what carries diagnostics.

use std::sync::Arc;

use super::addressing_score::AddressingScore;
use super::evidence::PairingEvidence;
use super::held_frames::{HeldFrames, HeldTotal};
use super::id_table::IdTable;
use super::{Pair, PairOverride, Pairs};
use crate::frame::{CanFrame, CanId, Interface};
use crate::log::SkipIds;
use crate::transport::{Addressing, CanChannel};

/// What is known of an identifier.
#[derive(Debug)]
enum IdStatus {
    Open([AddressingScore; 2]),
    Ordinary,
    Diagnostic(Addressing),
}

#[derive(Debug)]
struct IdState {
    interface: Interface,
    id: CanId,
    frames: u64,
    standing: IdStatus,
    held: HeldFrames,
    /// The frame before, while it is open what the identifier carries.
    last: Option<CanFrame>,
}

/// A frame that comes again within this time is the same one, logged twice; whoever sends it again takes longer.
const LOGGED_TWICE: u64 = 2_000_000;

/// Whether a frame is the one before it, logged twice.
fn is_doubled(last: &CanFrame, frame: &CanFrame) -> bool {
    let soon = last.moment.zip(frame.moment).is_some_and(|(last, now)| now >= last && now.since(last) <= LOGGED_TWICE);
    soon && last.data() == frame.data()
}

/// What a frame is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum FrameVerdict {
    /// Nothing of diagnostics, or not known yet.
    Other,
    /// A frame of a conversation.
    Diagnostic(Addressing),
}

/// An identifier whose frames could be transport, for which no partner was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undecided {
    /// Which bus.
    pub interface: Interface,
    /// The identifier.
    pub id: CanId,
    /// How many frames it sent.
    pub frames: u64,
    /// Who may be its partner, if somebody answered once.
    pub perhaps: Option<CanId>,
}

/// What was found, told at the end.
#[derive(Debug, Clone, Default)]
pub struct PairingResult {
    /// The pairs.
    pub pairs: Pairs,
    /// Identifiers of ordinary traffic.
    pub ordinary_ids: u64,
    /// Their frames.
    pub ordinary_frames: u64,
    /// Identifiers that could be diagnostics and stayed without partner. Not taken for diagnostics.
    pub undecided: Vec<Undecided>,
    /// Frames of diagnostic identifiers that came too long before they were recognised, and are not among the messages.
    pub unrecognised: u64,
    /// Frames of identifiers beyond the number that is kept apart.
    pub beyond: u64,
}

/// Finds pairs.
#[derive(Debug)]
pub(crate) struct Finder {
    table: IdTable,
    ids: Vec<IdState>,
    in_all: HeldTotal,
    evidence: PairingEvidence,
    pairs: Pairs,
    said: Vec<PairOverride>,
    only_said: bool,
    ordinary: Vec<CanId>,
    /// Those whose standing is [`IdStatus::Ordinary`], which is never taken back.
    settled: Arc<SkipIds>,
    /// Frames of them that did not come here one by one.
    passed_over: u64,
    beyond: u64,
}

impl Finder {
    /// With pairs that are said; with `only_said` nothing else is looked for. `ordinary` is never taken for diagnostics.
    pub fn new(said: Vec<PairOverride>, only_said: bool, ordinary: Vec<CanId>) -> Self {
        Self {
            table: IdTable::new(),
            ids: Vec::new(),
            in_all: HeldTotal::default(),
            evidence: PairingEvidence::default(),
            pairs: Pairs::default(),
            said,
            only_said,
            ordinary,
            settled: Arc::default(),
            passed_over: 0,
            beyond: 0,
        }
    }

    /// The pairs that are known so far.
    pub fn pairs(&self) -> &Pairs {
        &self.pairs
    }

    /// The identifiers of ordinary traffic, filled as they are found.
    pub fn ordinary_ids(&self) -> Arc<SkipIds> {
        Arc::clone(&self.settled)
    }

    /// Takes data frames of identifiers of ordinary traffic.
    pub fn pass_over(&mut self, count: u64) {
        self.passed_over += count;
    }

    /// Takes a data frame. Frames that were waiting and are recognised now go to `released`, in the order of the log; where
    /// this frame is one of them, the verdict is `Other`, since it is in there.
    #[inline]
    pub fn frame(&mut self, number: u64, frame: &CanFrame, released: &mut Vec<(u64, CanFrame)>) -> FrameVerdict {
        let Some((place, new)) = self.table.number(frame.interface, frame.id) else {
            self.beyond += 1;
            return FrameVerdict::Other;
        };
        if new {
            self.meet(frame.interface, frame.id);
        }
        let state = &mut self.ids[place];
        state.frames += 1;
        match state.standing {
            IdStatus::Ordinary => FrameVerdict::Other,
            IdStatus::Diagnostic(addressing) => {
                self.known(addressing, frame, released);
                FrameVerdict::Diagnostic(addressing)
            }
            IdStatus::Open(_) => {
                self.open(place, number, frame, released);
                FrameVerdict::Other
            }
        }
    }

    /// An identifier comes for the first time.
    #[cold]
    fn meet(&mut self, interface: Interface, id: CanId) {
        let mut standing =
            IdStatus::Open([AddressingScore::new(Addressing::Normal), AddressingScore::new(Addressing::Extended)]);
        if self.only_said || self.ordinary.contains(&id) {
            standing = IdStatus::Ordinary;
        }
        for said in self.said.iter().filter(|said| said.names(id)) {
            let (request, response) = said.on(interface);
            if self.pairs.add(Pair { request, response }) {
                standing = IdStatus::Diagnostic(request.addressing());
            }
        }
        if matches!(standing, IdStatus::Ordinary) {
            self.settled.add(interface, id);
        }
        self.ids.push(IdState { interface, id, frames: 0, standing, held: HeldFrames::default(), last: None });
    }

    /// A frame of an identifier that is known: does it show one more partner?
    #[inline(never)]
    fn known(&mut self, addressing: Addressing, frame: &CanFrame, released: &mut Vec<(u64, CanFrame)>) {
        if self.only_said {
            return;
        }
        let offset = addressing.offset();
        let Some(channel) = CanChannel::of(frame, addressing) else { return };
        let Ok(pci) = crate::transport::Pci::read(&frame.data()[offset..], offset) else { return };
        if let Some(pair) = self.evidence.frame(channel, pci, frame.moment, &self.pairs) {
            self.pair(pair, released);
        }
    }

    #[inline(never)]
    fn open(&mut self, place: usize, number: u64, frame: &CanFrame, released: &mut Vec<(u64, CanFrame)>) {
        let state = &mut self.ids[place];
        let IdStatus::Open(judges) = &mut state.standing else { return };
        if state.last.as_ref().is_some_and(|last| is_doubled(last, frame)) {
            // It speaks neither for nor against anything. Three times the same is no logger's fault.
            state.last = None;
            state.held.hold(number, frame, &mut self.in_all);
            return;
        }
        state.last = Some(frame.clone());
        let mut pair = None;
        let mut could_be = false;
        for judge in judges.iter_mut().filter(|judge| !judge.out_of_the_question) {
            let Some(pci) = judge.look(frame.data()) else { continue };
            could_be = true;
            let Some(channel) = CanChannel::of(frame, judge.addressing) else { continue };
            let shown = self.evidence.frame(channel, pci, frame.moment, &self.pairs);
            pair = pair.or(shown);
        }
        if judges.iter().all(|judge| judge.out_of_the_question) {
            (state.standing, state.last) = (IdStatus::Ordinary, None);
            self.settled.add(state.interface, state.id);
            state.held.forget(&mut self.in_all);
            return;
        }
        if could_be {
            state.held.hold(number, frame, &mut self.in_all);
        }
        if let Some(pair) = pair {
            self.pair(pair, released);
        }
    }

    /// Takes a pair for found, unless it contradicts what is known.
    fn pair(&mut self, pair: Pair, released: &mut Vec<(u64, CanFrame)>) {
        if self.pairs.contains(&pair) || !self.may_be(pair.request) || !self.may_be(pair.response) {
            return;
        }
        if !self.pairs.add(pair) {
            return;
        }
        for channel in [pair.request, pair.response] {
            let Some((place, _)) = self.table.number(channel.interface, channel.id) else { continue };
            let state = &mut self.ids[place];
            if matches!(state.standing, IdStatus::Open(_)) {
                state.standing = IdStatus::Diagnostic(channel.addressing());
                state.last = None;
                state.held.release(&mut self.in_all, released);
            }
        }
        released.sort_by_key(|(number, _)| *number);
    }

    fn may_be(&mut self, channel: CanChannel) -> bool {
        let Some((place, _)) = self.table.number(channel.interface, channel.id) else { return false };
        match &self.ids[place].standing {
            IdStatus::Ordinary => false,
            IdStatus::Diagnostic(addressing) => *addressing == channel.addressing(),
            IdStatus::Open(judges) => {
                judges.iter().any(|judge| judge.addressing == channel.addressing() && !judge.out_of_the_question)
            }
        }
    }

    /// What was found.
    pub fn finish(self) -> PairingResult {
        let (pairs, ordinary_frames) = (self.pairs, self.passed_over);
        let mut found = PairingResult { pairs, ordinary_frames, beyond: self.beyond, ..PairingResult::default() };
        for state in self.ids {
            match state.standing {
                IdStatus::Ordinary => {
                    found.ordinary_ids += 1;
                    found.ordinary_frames += state.frames;
                }
                IdStatus::Diagnostic(_) => found.unrecognised += state.held.let_go,
                IdStatus::Open(_) => {
                    let here = |channel: &CanChannel| channel.interface == state.interface && channel.id == state.id;
                    let perhaps = self
                        .evidence
                        .weighed()
                        .filter(|(request, response, _)| here(request) || here(response))
                        .max_by_key(|(request, response, weight)| (*weight, *request, *response))
                        .map(|(request, response, _)| if here(&request) { response.id } else { request.id });
                    found.undecided.push(Undecided {
                        interface: state.interface,
                        id: state.id,
                        frames: state.frames,
                        perhaps,
                    });
                }
            }
        }
        found.undecided.sort_by_key(|undecided| (undecided.interface, undecided.id));
        found
    }
}
