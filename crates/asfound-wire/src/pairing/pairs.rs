//! The pairs that are known.

use std::collections::BTreeMap;

use crate::transport::CanChannel;

/// Who asks, who answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// The tester's side.
    Request,
    /// A module's side.
    Response,
}

/// A request channel and a response channel that answers it.
///
/// A channel on which several modules are asked at once (functional addressing) is in a pair with each that
/// answered, and a module answers on one channel whoever asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Pair {
    /// The tester's side.
    pub request: CanChannel,
    /// The module's side.
    pub response: CanChannel,
}

/// All pairs that are known.
#[derive(Debug, Clone, Default)]
pub struct Pairs {
    responses: BTreeMap<CanChannel, Vec<CanChannel>>,
    requests: BTreeMap<CanChannel, Vec<CanChannel>>,
}

impl Pairs {
    /// Adds a pair. `false` where it contradicts what is known: nobody asks and answers on one channel.
    pub(super) fn add(&mut self, pair: Pair) -> bool {
        if self.responses.contains_key(&pair.response) || self.requests.contains_key(&pair.request) {
            return false;
        }
        let responses = self.responses.entry(pair.request).or_default();
        if !responses.contains(&pair.response) {
            responses.push(pair.response);
            self.requests.entry(pair.response).or_default().push(pair.request);
        }
        true
    }

    /// Whether the two belong together.
    pub fn contains(&self, pair: &Pair) -> bool {
        self.responses.get(&pair.request).is_some_and(|responses| responses.contains(&pair.response))
    }

    /// Who answers on a request channel, in the order in which it was found.
    pub fn responses(&self, request: &CanChannel) -> &[CanChannel] {
        self.responses.get(request).map_or(&[], Vec::as_slice)
    }

    /// Who asks a response channel, in the order in which it was found.
    pub fn requests(&self, response: &CanChannel) -> &[CanChannel] {
        self.requests.get(response).map_or(&[], Vec::as_slice)
    }

    /// The channels at the other end of this one.
    pub fn others(&self, channel: &CanChannel) -> &[CanChannel] {
        let responses = self.responses(channel);
        if responses.is_empty() { self.requests(channel) } else { responses }
    }

    /// Whether a channel asks or answers, where a pair says so.
    pub fn role(&self, channel: &CanChannel) -> Option<Role> {
        if self.responses.contains_key(channel) {
            Some(Role::Request)
        } else {
            self.requests.contains_key(channel).then_some(Role::Response)
        }
    }

    /// All pairs, by request channel.
    pub fn iter(&self) -> impl Iterator<Item = Pair> {
        self.responses.iter().flat_map(|(request, responses)| {
            responses.iter().map(|response| Pair { request: *request, response: *response })
        })
    }
}
