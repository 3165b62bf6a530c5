//! What speaks for two channels belonging together.

use std::collections::{BTreeSet, HashMap, VecDeque};

use super::echo::{echo, is_response};
use super::{Pair, Pairs, Role};
use crate::frame::Timestamp;
use crate::transport::{Addressing, BuildChannelHasher, CanChannel, FlowStatus, Pci, is_filler};

/// From here on a pair is taken as found: one response that repeats a record identifier, or two that repeat less; or a
/// message of several frames whose first was followed by a flow control, and whose frames
/// were as many as the first said, in the blocks that the flow control said.
const ENOUGH: u32 = 3;
const COMPLETE: u32 = 3;
/// A request waits this long for its answer: the longest time of ISO 14229-2 between two "wait" responses.
const ANSWER_TIME: u64 = 5_000_000_000;
/// A first frame waits this long for its flow control: `N_Bs` of ISO 15765-2.
const FLOW_TIME: u64 = 1_000_000_000;
/// How many requests and first frames are remembered, and pairs weighed.
const MOST_REQUESTS: usize = 64;
const MOST_FIRSTS: usize = 32;
const MOST_WEIGHED: usize = 4096;

#[derive(Debug)]
struct PendingQuestion {
    channel: CanChannel,
    moment: Option<Timestamp>,
    head: [u8; 4],
    length: usize,
    filler: bool,
    answered_by: Vec<CanChannel>,
}

#[derive(Debug)]
struct BegunMessage {
    channel: CanChannel,
    moment: Option<Timestamp>,
    response: bool,
    flow: Option<CanChannel>,
    /// Bytes that are still to come, and the number of the frame that brings the next.
    missing: usize,
    next: u8,
    /// Frames that may still come before the next flow control; `None` for all.
    allowed: Option<u8>,
}

/// Remembers the latest questions and weighs who answered them.
#[derive(Debug, Default)]
pub(super) struct PairingEvidence {
    asked: VecDeque<PendingQuestion>,
    begun: VecDeque<BegunMessage>,
    weights: HashMap<(CanChannel, CanChannel), u32, BuildChannelHasher>,
    /// Askers that sent flow controls: they ask one module each, since a question to all is always a single frame.
    single: BTreeSet<CanChannel>,
}

fn within(earlier: Option<Timestamp>, now: Option<Timestamp>, most: u64) -> bool {
    match (earlier, now) {
        (Some(earlier), Some(now)) => now.since(earlier) <= most,
        // Without times the limited memory is the limit.
        _ => true,
    }
}

/// How much two identifiers look like the usual pairs. Only ever a tie-break: real cars use others.
fn likeness(a: CanChannel, b: CanChannel) -> u32 {
    if a.interface != b.interface || a.id.is_extended() != b.id.is_extended() {
        return 0;
    }
    let (one, other) = (a.id.number(), b.id.number());
    if a.id.is_extended() {
        // Normal fixed addressing: the last two bytes are target and source (ISO 15765-2).
        let swapped = one & 0xFFFF_0000 | (one & 0xFF) << 8 | (one >> 8) & 0xFF;
        u32::from(swapped == other)
    } else {
        u32::from(one.abs_diff(other) == 8)
    }
}

impl PairingEvidence {
    /// Takes a frame that could be transport; gives a pair that it completes the proof of.
    pub fn frame(
        &mut self,
        channel: CanChannel,
        pci: Pci<'_>,
        moment: Option<Timestamp>,
        pairs: &Pairs,
    ) -> Option<Pair> {
        match pci {
            Pci::Single { data, padding } => self.message(channel, data, data.len(), is_filler(padding), moment, pairs),
            Pci::First { length, data } => {
                self.begun.retain(|begun| begun.channel != channel);
                if self.begun.len() >= MOST_FIRSTS {
                    self.begun.pop_front();
                }
                let response = is_response(*data.first()?);
                let missing = (length as usize).saturating_sub(data.len());
                self.begun.push_back(BegunMessage {
                    channel,
                    moment,
                    response,
                    flow: None,
                    missing,
                    next: 1,
                    allowed: Some(0),
                });
                self.message(channel, data, length as usize, true, moment, pairs)
            }
            Pci::Consecutive { number, data } => {
                let place = self.begun.iter().position(|begun| begun.channel == channel)?;
                let begun = &mut self.begun[place];
                let excess = data.len().saturating_sub(begun.missing);
                let last_is_filled = is_filler(&data[data.len() - excess..]);
                let follows = number == begun.next && begun.allowed != Some(0) && last_is_filled;
                let Some(flow) = begun.flow.filter(|_| follows) else {
                    self.begun.remove(place);
                    return None;
                };
                begun.allowed = begun.allowed.map(|allowed| allowed - 1);
                let (request, response) = if begun.response { (flow, channel) } else { (channel, flow) };
                begun.next = (number + 1) & 0x0F;
                begun.missing = begun.missing.saturating_sub(data.len());
                if begun.missing > 0 {
                    return None;
                }
                self.begun.remove(place);
                self.weigh(Pair { request, response }, COMPLETE)
            }
            Pci::Flow { status, block, .. } => {
                if pairs.role(&channel) == Some(Role::Request) {
                    self.single.insert(channel);
                }
                self.flow(channel, status, block, moment, pairs);
                None
            }
        }
    }

    fn message(
        &mut self,
        channel: CanChannel,
        data: &[u8],
        length: usize,
        filler: bool,
        moment: Option<Timestamp>,
        pairs: &Pairs,
    ) -> Option<Pair> {
        let mut head = [0; 4];
        let shown = data.len().min(4);
        head[..shown].copy_from_slice(&data[..shown]);
        if is_response(*data.first()?) {
            return self.response(channel, &data[..shown], length, filler, moment, pairs);
        }
        if self.asked.len() >= MOST_REQUESTS {
            self.asked.pop_front();
        }
        let length = length.min(shown);
        self.asked.push_back(PendingQuestion { channel, moment, head, length, filler, answered_by: Vec::new() });
        None
    }

    fn response(
        &mut self,
        channel: CanChannel,
        head: &[u8],
        length: usize,
        filler: bool,
        moment: Option<Timestamp>,
        pairs: &Pairs,
    ) -> Option<Pair> {
        // Newest first, all that this could answer.
        let mut fitting: Vec<(usize, u8)> = self
            .asked
            .iter()
            .enumerate()
            .rev()
            // What fits least often is looked at first: most of those that wait asked for something else.
            .filter_map(|(place, asked)| Some((place, asked, echo(&asked.head[..asked.length], head, length)?)))
            .filter(|(_, asked, _)| could_be_partners(asked.channel, channel))
            .filter(|(_, asked, _)| within(asked.moment, moment, ANSWER_TIME))
            .filter(|(_, asked, _)| !asked.answered_by.contains(&channel))
            .filter(|(_, asked, _)| {
                let partners = pairs.responses(&asked.channel);
                partners.is_empty() || partners.contains(&channel) || !self.single.contains(&asked.channel)
            })
            .map(|(place, _, same)| (place, same))
            .collect();
        let open = |place: usize| self.asked[place].answered_by.is_empty();
        if fitting.iter().any(|(place, _)| open(*place)) {
            fitting.retain(|(place, _)| open(*place));
        } else {
            // Everybody may answer a question to all; the latest is the one.
            fitting.truncate(1);
        }
        let asker = |place: usize| self.asked[place].channel;
        if fitting.iter().any(|(place, _)| asker(*place) != asker(fitting[0].0)) {
            let known = |place: usize| pairs.contains(&Pair { request: asker(place), response: channel });
            if fitting.iter().any(|(place, _)| known(*place)) {
                fitting.retain(|(place, _)| known(*place));
            } else if fitting.iter().any(|(place, _)| likeness(asker(*place), channel) > 0) {
                fitting.retain(|(place, _)| likeness(asker(*place), channel) > 0);
            } else {
                return None;
            }
        }
        let (place, same) = *fitting.first()?;
        let question = &mut self.asked[place];
        // "Wait" is no answer yet.
        if !(head[0] == super::echo::NEGATIVE && head.get(2) == Some(&0x78)) {
            question.answered_by.push(channel);
        }
        let request = question.channel;
        if same == 0 {
            return None;
        }
        let mut weight = 1;
        // A refusal repeats the service alone, which chance does too.
        if filler && question.filler && head[0] != super::echo::NEGATIVE {
            // Whoever is known to answer answers here too, rather than by chance.
            let answers = u32::from(pairs.role(&channel) == Some(Role::Response));
            weight += u32::from(same) + likeness(request, channel).max(answers);
        }
        self.weigh(Pair { request, response: channel }, weight)
    }

    fn flow(&mut self, channel: CanChannel, status: FlowStatus, block: u8, moment: Option<Timestamp>, pairs: &Pairs) {
        let allowed = match status {
            FlowStatus::Continue => (block > 0).then_some(block),
            FlowStatus::Wait => Some(0),
            // Whoever gives up proves nothing.
            FlowStatus::Overflow => return self.begun.retain(|begun| begun.flow != Some(channel)),
        };
        if let Some(place) = self.begun.iter().position(|begun| begun.flow == Some(channel)) {
            // The next flow control comes when a block is through, and no earlier.
            if self.begun[place].allowed == Some(0) {
                self.begun[place].allowed = allowed;
            } else {
                self.begun.remove(place);
            }
            return;
        }
        // Two that answer one first frame: at most one of them is meant, so that nothing is proven.
        let known = pairs.others(&channel);
        self.begun.retain(|begun| {
            let answered_by_another = begun.flow.is_some() && begun.next == 1;
            let perhaps = known.is_empty() || known.contains(&begun.channel);
            !(answered_by_another && perhaps && could_be_partners(begun.channel, channel))
        });
        let mut fitting: Vec<usize> = (0..self.begun.len())
            .filter(|place| {
                let begun = &self.begun[*place];
                begun.flow.is_none()
                    && could_be_partners(begun.channel, channel)
                    && within(begun.moment, moment, FLOW_TIME)
            })
            .collect();
        let begun = |place: usize| self.begun[place].channel;
        let others = pairs.others(&channel);
        if !others.is_empty() {
            // Whoever has a partner gives way to nobody else.
            fitting.retain(|place| others.contains(&begun(*place)));
        }
        if fitting.len() > 1 {
            if others.is_empty() {
                // Whoever has a partner already waits for that one.
                fitting.retain(|place| pairs.others(&begun(*place)).is_empty());
            }
            if fitting.len() > 1 && fitting.iter().any(|place| likeness(begun(*place), channel) > 0) {
                fitting.retain(|place| likeness(begun(*place), channel) > 0);
            }
        }
        if let [place] = fitting[..] {
            self.begun[place].flow = Some(channel);
            self.begun[place].allowed = allowed;
        }
    }

    fn weigh(&mut self, pair: Pair, weight: u32) -> Option<Pair> {
        let key = (pair.request, pair.response);
        if self.weights.len() >= MOST_WEIGHED && !self.weights.contains_key(&key) {
            // Rather begin anew than grow without end.
            self.weights.clear();
        }
        let total = self.weights.entry(key).or_default();
        *total = total.saturating_add(weight);
        (*total >= ENOUGH).then_some(pair)
    }

    /// What was weighed without being enough: request, response, weight.
    pub fn weighed(&self) -> impl Iterator<Item = (CanChannel, CanChannel, u32)> {
        self.weights.iter().map(|((request, response), weight)| (*request, *response, *weight))
    }
}

/// Whether two channels could be the two ends of a conversation.
fn could_be_partners(a: CanChannel, b: CanChannel) -> bool {
    a.interface == b.interface
        && a.addressing() == b.addressing()
        && (a.id != b.id || (a.addressing() == Addressing::Extended && a.address != b.address))
}
