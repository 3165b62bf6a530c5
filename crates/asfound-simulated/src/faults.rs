//! What goes wrong, decided by a seed.

use std::collections::BTreeMap;
use std::time::Duration;

use asfound_wire::frame::Timestamp;

/// Something that goes wrong with one request.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fault {
    /// "Pending" several times before the answer.
    Pending,
    /// "Busy" instead of the answer.
    Busy,
    /// No answer.
    Silent,
    /// The answer comes long after it was due.
    Late,
    /// The answer comes twice.
    Twice,
    /// Something else comes instead of the answer.
    SomethingElse,
    /// A byte of the answer to a request for a record is missing; not of what a module says of itself, whose length nobody knows.
    WrongLength,
    /// The module restarts: it is silent for two seconds, and in the default session.
    Restart,
    /// "Pending", and then nothing.
    PendingThenSilent,
    /// The gateway has no memory for it.
    NoMemory,
}

impl Fault {
    /// All there are.
    pub const ALL: [Self; 10] = [
        Self::Pending,
        Self::Busy,
        Self::Silent,
        Self::Late,
        Self::Twice,
        Self::SomethingElse,
        Self::WrongLength,
        Self::Restart,
        Self::PendingThenSilent,
        Self::NoMemory,
    ];
}

/// What the gateway does with a request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Reaction {
    /// It has no memory.
    NoMemory,
    /// It passes it on, and this comes back, each so long after the module turned to the request. The module turns to the next one after
    /// the first duration.
    Passed(Duration, Vec<(Duration, Vec<u8>)>),
}

/// What goes wrong.
#[derive(Debug, Clone)]
pub struct Faults {
    chance: fastrand::Rng,
    /// What can go wrong, and in how many of a thousand requests each.
    kinds: Vec<(Fault, u32)>,
    /// How long a module takes for an answer.
    takes: Duration,
    /// In how many of a thousand frames one is lost.
    lost_frames: u32,
    down_until: BTreeMap<u16, Timestamp>,
}

impl Default for Faults {
    fn default() -> Self {
        Self::none()
    }
}

impl Faults {
    /// Nothing goes wrong, and answers come at once.
    pub fn none() -> Self {
        Self::seeded(0, [])
    }

    /// These go wrong, each in so many of a thousand requests.
    pub fn seeded(seed: u64, kinds: impl IntoIterator<Item = (Fault, u32)>) -> Self {
        let chance = fastrand::Rng::with_seed(seed);
        Self {
            chance,
            kinds: kinds.into_iter().collect(),
            takes: Duration::ZERO,
            lost_frames: 0,
            down_until: BTreeMap::new(),
        }
    }

    /// The same where a module takes so long for an answer.
    #[must_use]
    pub const fn slow(mut self, takes: Duration) -> Self {
        self.takes = takes;
        self
    }

    /// The same where so many of a thousand frames of a CAN bus are lost.
    #[must_use]
    pub const fn losing_frames(mut self, of_thousand: u32) -> Self {
        self.lost_frames = of_thousand;
        self
    }

    /// Whether the next frame is lost.
    pub(crate) fn loses_frame(&mut self) -> bool {
        self.lost_frames > 0 && self.chance.u32(0..1000) < self.lost_frames
    }

    /// Whether a module is restarting.
    pub(crate) fn is_down(&self, module: u16, now: Timestamp) -> bool {
        self.down_until.get(&module).is_some_and(|until| now < *until)
    }

    /// What comes of a request that would be answered so. `others` are answers to other requests of the same module.
    pub(crate) fn react(
        &mut self,
        module: u16,
        now: Timestamp,
        request: &[u8],
        answer: Option<Vec<u8>>,
        others: &[Vec<u8>],
    ) -> Reaction {
        let fault = self.draw();
        let takes = self.takes;
        let Some(answer) = answer else { return Reaction::Passed(takes, Vec::new()) };
        let service = request.first().copied().unwrap_or_default();
        let pending = vec![0x7F, service, 0x78];
        let mut milliseconds = |range: std::ops::Range<u64>| Duration::from_millis(self.chance.u64(range));
        let Some(fault) = fault else { return Reaction::Passed(takes, vec![(takes, answer)]) };
        match fault {
            Fault::NoMemory => Reaction::NoMemory,
            Fault::Busy => Reaction::Passed(takes, vec![(takes, vec![0x7F, service, 0x21])]),
            Fault::Silent => Reaction::Passed(takes, Vec::new()),
            Fault::Restart => {
                self.down_until.insert(module, now.after(Duration::from_secs(2)));
                Reaction::Passed(takes, Vec::new())
            }
            Fault::Late => {
                let late = milliseconds(1050..4000);
                Reaction::Passed(late, vec![(late, answer)])
            }
            Fault::Twice => {
                let again = takes + milliseconds(0..50);
                Reaction::Passed(takes, vec![(takes, answer.clone()), (again, answer)])
            }
            Fault::Pending => {
                let mut all = Vec::new();
                let mut at = takes;
                for _ in 0..self.chance.u32(1..5) {
                    all.push((at, pending.clone()));
                    at += Duration::from_millis(self.chance.u64(1..5500));
                }
                all.push((at, answer));
                Reaction::Passed(at, all)
            }
            Fault::PendingThenSilent => Reaction::Passed(takes, vec![(takes, pending)]),
            Fault::SomethingElse => {
                let place = self.chance.usize(0..=others.len());
                // Without another answer, one to a request that nobody made.
                let other = others.get(place).cloned().unwrap_or_else(|| vec![0x6E, 0x12, 0x34]);
                Reaction::Passed(takes, if other == answer { Vec::new() } else { vec![(takes, other)] })
            }
            Fault::WrongLength if answer[0] == 0x62 && answer[1] < 0xF1 && answer.len() > 4 => {
                Reaction::Passed(takes, vec![(takes, answer[..answer.len() - 1].to_vec())])
            }
            Fault::WrongLength => Reaction::Passed(takes, vec![(takes, answer)]),
        }
    }

    fn draw(&mut self) -> Option<Fault> {
        if self.kinds.is_empty() {
            return None;
        }
        let mut drawn = self.chance.u32(0..1000);
        for (fault, of_thousand) in &self.kinds {
            if drawn < *of_thousand {
                return Some(*fault);
            }
            drawn -= of_thousand;
        }
        None
    }
}
