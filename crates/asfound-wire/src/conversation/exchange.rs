//! One request with what came of it.

use super::{ModuleAddress, TesterAddress};
use crate::listening::Message;
use crate::service::Refusal;

/// What came of a request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ExchangeOutcome {
    /// A positive response.
    Answered(Message),
    /// A negative response, other than "pending".
    Refused(Refusal, Message),
    /// None that is in the log.
    NoAnswer,
    /// None, as the request wished.
    NotWanted,
    /// The module said that it works on it, and nothing after that.
    OnlyPending,
}

/// One request and what one module made of it, or a response whose request is not in the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exchange {
    /// Who asked; `None` where the request is not in the log, and nobody or more than one is known who asks this module.
    pub tester: Option<TesterAddress>,
    /// Who answered, or who was asked; `None` for a question to several that nobody answered.
    pub module: Option<ModuleAddress>,
    /// The request; `None` where it is not in the log.
    pub request: Option<Message>,
    /// What came of it.
    pub outcome: ExchangeOutcome,
    /// How often the module said "pending" before.
    pub pending: u32,
}

impl Exchange {
    /// The response, where there is one.
    pub const fn response(&self) -> Option<&Message> {
        match &self.outcome {
            ExchangeOutcome::Answered(response) | ExchangeOutcome::Refused(_, response) => Some(response),
            ExchangeOutcome::NoAnswer | ExchangeOutcome::NotWanted | ExchangeOutcome::OnlyPending => None,
        }
    }

    /// The service by its request's first byte, where the bytes tell it.
    pub fn service(&self) -> Option<u8> {
        if let Some(request) = &self.request {
            return request.payload.first().copied();
        }
        match self.response()?.payload.as_slice() {
            [crate::pairing::NEGATIVE, service, ..] => Some(*service),
            [first, ..] => Some(first & !0x40),
            [] => None,
        }
    }
}
