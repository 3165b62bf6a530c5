//! Who speaks with whom.

use crate::listening::{Message, Sender};
use crate::pairing::Role;
use crate::transport::CanChannel;

/// A control module, by where it answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ModuleAddress {
    /// It answers on this channel of a CAN bus.
    Can(CanChannel),
    /// Its logical address on diagnostics on IP.
    Ip(u16),
}

/// A tester, by where it asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TesterAddress {
    /// It asks on this channel of a CAN bus.
    Can(CanChannel),
    /// Its logical address on diagnostics on IP.
    Ip(u16),
}

impl ModuleAddress {
    /// The module that sent a response; `None` for a request.
    pub fn of(message: &Message) -> Option<Self> {
        (message.role == Role::Response).then_some(match message.sender {
            Sender::Can(channel) => Self::Can(channel),
            Sender::Ip { source, .. } => Self::Ip(source),
        })
    }
}

impl TesterAddress {
    /// The tester that sent a request; `None` for a response.
    pub fn of(message: &Message) -> Option<Self> {
        (message.role == Role::Request).then_some(match message.sender {
            Sender::Can(channel) => Self::Can(channel),
            Sender::Ip { source, .. } => Self::Ip(source),
        })
    }
}
