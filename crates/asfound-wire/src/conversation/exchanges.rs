//! Brings requests and responses together.

use std::collections::VecDeque;

use super::{Exchange, ModuleAddress, Outcome, TesterAddress};
use crate::listening::{Message, Sender};
use crate::pairing::{NEGATIVE, Pair, Pairs, Role, echo};
use crate::service::{Refusal, Request};

/// Requests that may wait at once; beyond it the oldest counts as not answered.
const MOST_OPEN: usize = 256;

#[derive(Debug)]
struct Open {
    request: Message,
    answered: Vec<ModuleAddress>,
    pending: Vec<(ModuleAddress, u32)>,
}

/// Brings requests and responses together, message by message.
///
/// A module answers one request after the other (ISO 14229-2), so a request on the same channel ends the wait
/// for the one before, unless the module said "pending" or the new one only says that the tester is present.
#[derive(Debug, Default)]
pub struct Exchanges {
    open: VecDeque<Open>,
}

impl Exchanges {
    /// Takes the next message.
    pub fn message(&mut self, message: &Message, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        match message.role {
            Role::Request => self.request(message, pairs, out),
            Role::Response => self.response(message, pairs, out),
        }
    }

    /// The log ends.
    pub fn finish(&mut self, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        for open in std::mem::take(&mut self.open) {
            close(open, pairs, out);
        }
    }

    fn request(&mut self, message: &Message, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        let service = message.payload.first();
        let only_present = service == Some(&0x3E);
        let mut place = 0;
        while let Some(open) = self.open.get(place) {
            let same_kind = (open.request.payload.first() == Some(&0x3E)) == only_present;
            let waits = !open.pending.is_empty() && open.answered.is_empty();
            let same_service = open.request.payload.first() == service;
            if open.request.sender == message.sender && same_kind && (!waits || same_service) {
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
        self.open.push_back(Open { request: message.clone(), answered: Vec::new(), pending: Vec::new() });
    }

    fn response(&mut self, message: &Message, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
        let Some(module) = ModuleAddress::of(message) else { return };
        let refusal = match message.payload.as_slice() {
            [NEGATIVE, _, code] => Some(Refusal(*code)),
            _ => None,
        };
        let place = self.find(message, module, pairs, true).or_else(|| self.find(message, module, pairs, false));
        let Some(open) = place.and_then(|place| self.open.get_mut(place)) else {
            // "Pending" without a request tells nothing; its answer does.
            if refusal != Some(Refusal::PENDING) {
                let tester = match message.sender {
                    Sender::Can(channel) => pairs.requests(&channel).first().map(|asker| TesterAddress::Can(*asker)),
                    Sender::Ip { target, .. } => Some(TesterAddress::Ip(target)),
                };
                let outcome = outcome(refusal, message);
                out(Exchange { tester, module: Some(module), request: None, outcome, pending: 0 });
            }
            return;
        };
        if refusal == Some(Refusal::PENDING) {
            match open.pending.iter_mut().find(|(who, _)| *who == module) {
                Some((_, times)) => *times += 1,
                None => open.pending.push((module, 1)),
            }
            return;
        }
        let pending = open.pending.iter().find(|(who, _)| *who == module).map_or(0, |(_, times)| *times);
        open.answered.push(module);
        out(Exchange {
            tester: TesterAddress::of(&open.request),
            module: Some(module),
            request: Some(open.request.clone()),
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

fn outcome(refusal: Option<Refusal>, message: &Message) -> Outcome {
    match refusal {
        Some(why) => Outcome::Refused(why, message.clone()),
        None => Outcome::Answered(message.clone()),
    }
}

/// The wait is over.
fn close(open: Open, pairs: &Pairs, out: &mut dyn FnMut(Exchange)) {
    let tester = TesterAddress::of(&open.request);
    let mut told = false;
    for (module, pending) in open.pending {
        if !open.answered.contains(&module) {
            told = true;
            let (module, request) = (Some(module), Some(open.request.clone()));
            out(Exchange { tester, module, request, outcome: Outcome::OnlyPending, pending });
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
    let outcome = if quiet { Outcome::NotWanted } else { Outcome::NoAnswer };
    out(Exchange { tester, module, request: Some(open.request), outcome, pending: 0 });
}
