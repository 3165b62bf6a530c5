//! Brings requests and responses together.

use std::collections::VecDeque;

use super::{Exchange, ExchangeOutcome, ModuleAddress, TesterAddress};
use crate::frame::Timestamp;
use crate::listening::{Message, Sender};
use crate::pairing::{NEGATIVE, Pair, Pairs, Role, echo};
use crate::service::{Refusal, Request};
use crate::transport::Mending;

/// Requests that may wait at once; beyond it the oldest counts as not answered.
const MOST_OPEN: usize = 256;
/// So many responses wait at most for a request of the same moment.
const MOST_EARLY: usize = 64;
/// So many modules' last responses are remembered.
const MOST_LAST: usize = 1024;
/// The same message again within this time is the same one, logged twice. Whoever asks again has waited for the answer first, which
/// may take 50 milliseconds (`P2` of ISO 14229-2).
const LOGGED_TWICE: u64 = 40_000_000;

#[derive(Debug)]
struct OpenRequest {
    request: Message,
    answered: Vec<ModuleAddress>,
    pending: Vec<(ModuleAddress, u32)>,
    /// Another request ended the wait at this moment; an answer of the same moment may have come before that.
    ended: Option<Timestamp>,
}

/// Brings requests and responses together, message by message.
///
/// A module answers one request after the other (ISO 14229-2), so a request on the same channel ends the wait
/// for the one before, unless the module said "pending" or the new one only says that the tester is present.
///
/// Messages of one moment may stand in the log in an order in which they cannot have come: then the request counts as having come first.
#[derive(Debug, Default)]
pub struct Exchanges {
    open: VecDeque<OpenRequest>,
    /// Responses to nothing, which wait for a request of the same moment.
    early: Vec<Message>,
    /// The last response of each module, as long as nobody has asked it again.
    last: Vec<(ModuleAddress, Message)>,
}

/// Whether the second message is the first one, logged twice.
fn is_doubled(first: &Message, second: &Message) -> bool {
    let soon = match (first.first, second.first) {
        (Some(first), Some(second)) => second.since(first).max(first.since(second)) <= LOGGED_TWICE,
        _ => true,
    };
    soon && (first.sender, &first.payload) == (second.sender, &second.payload)
}

impl Exchanges {
    /// Takes the next message.
    pub fn message(&mut self, message: &Message, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        self.go_on([message.first, message.last], pairs, out);
        match message.role {
            Role::Request => self.request(message, pairs, out),
            Role::Response => self.response(message, pairs, out),
        }
    }

    /// The log ends.
    pub fn finish(&mut self, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        self.go_on([None; 2], pairs, out);
        for open in std::mem::take(&mut self.open) {
            close(open, pairs, out);
        }
    }

    /// The log has come to another moment: nothing that waited for the same one waits any longer.
    fn go_on(&mut self, now: [Option<Timestamp>; 2], pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        if self.early.first().is_some_and(|early| !now.contains(&early.first)) {
            std::mem::take(&mut self.early).iter().for_each(|early| without_request(early, pairs, out));
        }
        self.close_ended(|ended| now[0] != Some(ended), pairs, out);
    }

    fn close_ended(&mut self, through: impl Fn(Timestamp) -> bool, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        let mut place = 0;
        while let Some(open) = self.open.get(place) {
            match open.ended.filter(|ended| through(*ended)).and_then(|_| self.open.remove(place)) {
                Some(open) => close(open, pairs, out),
                None => place += 1,
            }
        }
    }

    fn request(&mut self, message: &Message, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        let twice = |open: &&mut OpenRequest| {
            let unanswered = open.answered.is_empty() && open.pending.is_empty() && open.ended.is_none();
            // Without times, only what nothing stands between.
            let near =
                message.first.is_some() || open.request.number + u64::from(open.request.frames) == message.number;
            unanswered && near && is_doubled(&open.request, message)
        };
        if let Some(open) = self.open.iter_mut().rev().find(twice) {
            open.request.mended.insert(Mending::Doubled);
            return;
        }
        let service = message.payload.first();
        let only_present = service == Some(&0x3E);
        let mut place = 0;
        while let Some(open) = self.open.get(place) {
            let same_kind = (open.request.payload.first() == Some(&0x3E)) == only_present;
            let waits = !open.pending.is_empty() && open.answered.is_empty();
            let same_service = open.request.payload.first() == service;
            let ends = open.request.sender == message.sender && same_kind && (!waits || same_service);
            let open_yet = open.ended.is_none() && open.answered.is_empty();
            if ends && open_yet && message.first.is_some() {
                self.open[place].ended = message.first;
                place += 1;
            } else if ends && open.ended.is_none() {
                if let Some(open) = self.open.remove(place) {
                    close(open, pairs, out);
                }
            } else {
                place += 1;
            }
        }
        if self.open.len() >= MOST_OPEN
            && let Some(oldest) = self.open.pop_front()
        {
            close(oldest, pairs, out);
        }
        let reaches = |module: &ModuleAddress| match (message.sender, *module) {
            (Sender::Can(request), ModuleAddress::Can(response)) => pairs.contains(&Pair { request, response }),
            (Sender::Ip { .. }, ModuleAddress::Ip(_)) => true,
            _ => false,
        };
        self.last.retain(|(module, _)| !reaches(module));
        self.open.push_back(OpenRequest {
            request: message.clone(),
            answered: Vec::new(),
            pending: Vec::new(),
            ended: None,
        });
        // A response that stands before it at the same moment came after it.
        if message.last.is_some() && self.early.first().is_some_and(|early| early.first == message.last) {
            let early = std::mem::take(&mut self.early);
            early.iter().for_each(|early| self.response(early, pairs, out));
        }
    }

    fn response(&mut self, message: &Message, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        let Some(module) = ModuleAddress::of(message) else { return };
        let refusal = refusal_of(message);
        let place = self.find(message, module, pairs, true).or_else(|| self.find(message, module, pairs, false));
        let Some(place) = place else {
            let twice = self.last.iter().any(|(who, last)| *who == module && is_doubled(last, message));
            // "Pending" without a request tells nothing; its answer does.
            if twice || refusal == Some(Refusal::PENDING) {
                return;
            }
            if message.first.is_some() && self.early.len() < MOST_EARLY {
                self.early.push(message.clone());
            } else {
                without_request(message, pairs, out);
            }
            return;
        };
        // The requests whose wait another one ended come before that one.
        if self.open[place].ended.is_none() {
            let sender = self.open[place].request.sender;
            let (mut at, mut place_now) = (0, place);
            while at < place_now {
                if self.open[at].ended.is_some() && self.open[at].request.sender == sender {
                    if let Some(open) = self.open.remove(at) {
                        close(open, pairs, out);
                    }
                    place_now -= 1;
                } else {
                    at += 1;
                }
            }
            self.answer(place_now, message, module, refusal, out);
        } else {
            self.open[place].request.mended.insert(Mending::OutOfOrder);
            self.answer(place, message, module, refusal, out);
        }
    }

    fn answer(
        &mut self,
        place: usize,
        message: &Message,
        module: ModuleAddress,
        refusal: Option<Refusal>,
        out: &mut dyn FnMut(Exchange),
    ) {
        let Some(open) = self.open.get_mut(place) else { return };
        // It stands before its request.
        if message.number < open.request.number {
            open.request.mended.insert(Mending::OutOfOrder);
        }
        if refusal == Some(Refusal::PENDING) {
            match open.pending.iter_mut().find(|(who, _)| *who == module) {
                Some((_, times)) => *times += 1,
                None => open.pending.push((module, 1)),
            }
            return;
        }
        let pending = open.pending.iter().find(|(who, _)| *who == module).map_or(0, |(_, times)| *times);
        open.answered.push(module);
        let request = open.request.clone();
        self.last.retain(|(who, _)| *who != module);
        if self.last.len() >= MOST_LAST {
            self.last.remove(0);
        }
        self.last.push((module, message.clone()));
        out(Exchange {
            tester: TesterAddress::of(&request),
            module: Some(module),
            request: Some(request),
            outcome: outcome(refusal, message),
            pending,
        });
    }

    /// The newest open request that a response answers. On IP a question to the module itself (`direct`) comes before one
    /// to a group.
    fn find(&self, message: &Message, module: ModuleAddress, pairs: &Pairs, direct: bool) -> Option<usize> {
        let reaches = |request: &Message| match (request.sender, message.sender) {
            (Sender::Can(request), Sender::Can(response)) => pairs.contains(&Pair { request, response }),
            (Sender::Ip { source, target }, Sender::Ip { source: answers, target: asked }) => {
                source == asked && (target == answers) == direct
            }
            _ => false,
        };
        let answers = |request: &Message| echo(&request.payload, &message.payload, message.payload.len()).is_some();
        self.open
            .iter()
            .rposition(|open| reaches(&open.request) && !open.answered.contains(&module) && answers(&open.request))
    }
}

/// A response whose request is not in the log.
fn without_request(message: &Message, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
    let Some(module) = ModuleAddress::of(message) else { return };
    let tester = match message.sender {
        Sender::Can(channel) => match pairs.requests(&channel) {
            [one] => Some(TesterAddress::Can(*one)),
            _ => None,
        },
        Sender::Ip { target, .. } => Some(TesterAddress::Ip(target)),
    };
    let outcome = outcome(refusal_of(message), message);
    out(Exchange { tester, module: Some(module), request: None, outcome, pending: 0 });
}

fn refusal_of(message: &Message) -> Option<Refusal> {
    match message.payload.as_slice() {
        [NEGATIVE, _, code] => Some(Refusal(*code)),
        _ => None,
    }
}

fn outcome(refusal: Option<Refusal>, message: &Message) -> ExchangeOutcome {
    match refusal {
        Some(why) => ExchangeOutcome::Refused(why, message.clone()),
        None => ExchangeOutcome::Answered(message.clone()),
    }
}

/// The wait is over.
fn close(open: OpenRequest, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
    let tester = TesterAddress::of(&open.request);
    let mut told = false;
    for (module, pending) in open.pending {
        if !open.answered.contains(&module) {
            told = true;
            let (module, request) = (Some(module), Some(open.request.clone()));
            out(Exchange { tester, module, request, outcome: ExchangeOutcome::OnlyPending, pending });
        }
    }
    if told || !open.answered.is_empty() {
        return;
    }
    let module = match open.request.sender {
        Sender::Can(channel) => match pairs.responses(&channel) {
            [one] => Some(ModuleAddress::Can(*one)),
            _ => None,
        },
        Sender::Ip { target, .. } => Some(ModuleAddress::Ip(target)),
    };
    let quiet = Request::is_quiet(&open.request.payload);
    let outcome = if quiet { ExchangeOutcome::NotWanted } else { ExchangeOutcome::NoAnswer };
    out(Exchange { tester, module, request: Some(open.request), outcome, pending: 0 });
}
