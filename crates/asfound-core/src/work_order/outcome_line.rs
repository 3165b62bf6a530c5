//! The lines of the comparison.

use std::fmt;

use crate::history::{Doubt, Field, HandKind, OpenStep, Proof};
use crate::names::{EntryNumber, ModuleName, RecordName};

/// What a line of the comparison is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum OutcomeSubject {
    /// A setting, or bits that no definition names.
    Field(Field),
    /// A record that is authorised as a whole.
    Record(ModuleName, RecordName),
    /// A module itself: its part number, hardware, software or serial number.
    Unit(ModuleName),
}

impl fmt::Display for OutcomeSubject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Field(field) => field.fmt(f),
            Self::Record(module, record) => f.pad(&format!("{module}:{record}")),
            Self::Unit(module) => f.pad(&format!("{module} (the module itself)")),
        }
    }
}

/// How something that was authorised came to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HowDone {
    /// An entry records the work.
    Recorded {
        /// The entry.
        entry: EntryNumber,
        /// How well it is proven.
        proof: Proof,
    },
    /// A reading shows it, and no entry records who did it.
    Seen(EntryNumber),
    /// It came with the module, whose replacement or other software was authorised; this reading shows it.
    WithUnit(EntryNumber),
    /// It was so already.
    WasSo,
}

impl HowDone {
    /// The entry that tells of it.
    pub fn entry(&self) -> Option<EntryNumber> {
        match self {
            Self::Recorded { entry, .. } | Self::Seen(entry) | Self::WithUnit(entry) => Some(*entry),
            Self::WasSo => None,
        }
    }
}

/// What one line comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OrderVerdict {
    /// It was authorised, and is as authorised.
    Done(HowDone),
    /// It is as authorised; the consent, or the term as it was meant, was filed after it was done.
    AgreedAfterwards {
        /// How it was done.
        how: HowDone,
        /// The entry with the consent.
        consent: EntryNumber,
    },
    /// It was authorised, and is not as authorised, or nobody knows.
    NotDone,
    /// The customer took it back.
    Withdrawn {
        /// The entry that says so.
        withdrawn: EntryNumber,
        /// The entry that tells that it was done before that, where it still is as it was agreed to.
        done: Option<EntryNumber>,
    },
    /// An entry records work that nobody authorised, and it was not taken back.
    WithoutAuthority {
        /// The entry.
        entry: EntryNumber,
        /// How well it is proven.
        proof: Proof,
    },
    /// A reading shows it; neither an entry nor the order accounts for it.
    AnotherHand {
        /// What kind of alteration it is.
        kind: HandKind,
        /// The reading.
        seen: EntryNumber,
    },
    /// A reading shows something else than before, and nobody can say whether somebody altered it; or it cannot be
    /// compared with what was authorised.
    CannotTell {
        /// Why not.
        doubt: Doubt,
        /// The entry that shows it.
        seen: EntryNumber,
    },
    /// It was altered in the course of the work and is as it was found.
    TakenBack {
        /// The entry that took it back.
        entry: EntryNumber,
    },
}

/// The groups that lines are told in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LineGroup {
    /// Authorised and done.
    Done,
    /// Done, and agreed to afterwards.
    AgreedAfterwards,
    /// Authorised, not done.
    NotDone,
    /// Withdrawn by the customer.
    Withdrawn,
    /// Done without authority.
    WithoutAuthority,
    /// Another hand.
    AnotherHand,
    /// Nobody can say whether it was altered.
    CannotTell,
    /// Altered and taken back.
    TakenBack,
}

impl OrderVerdict {
    /// Whether it was done and is as a term of the order has it, or had it before the customer took it back.
    pub fn is_as_agreed(&self) -> bool {
        matches!(self, Self::Done(_) | Self::AgreedAfterwards { .. } | Self::Withdrawn { done: Some(_), .. })
    }

    /// The group that it belongs to.
    pub fn group(&self) -> LineGroup {
        match self {
            Self::Done(_) => LineGroup::Done,
            Self::AgreedAfterwards { .. } => LineGroup::AgreedAfterwards,
            Self::NotDone => LineGroup::NotDone,
            Self::Withdrawn { .. } => LineGroup::Withdrawn,
            Self::WithoutAuthority { .. } => LineGroup::WithoutAuthority,
            Self::AnotherHand { .. } => LineGroup::AnotherHand,
            Self::CannotTell { .. } => LineGroup::CannotTell,
            Self::TakenBack { .. } => LineGroup::TakenBack,
        }
    }
}

impl fmt::Display for LineGroup {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Done => "authorised and done",
            Self::AgreedAfterwards => "done, agreed to afterwards",
            Self::NotDone => "authorised, not done",
            Self::Withdrawn => "withdrawn",
            Self::WithoutAuthority => "done without authority",
            Self::AnotherHand => "another hand",
            Self::CannotTell => "cannot tell",
            Self::TakenBack => "altered and taken back",
        })
    }
}

/// One line of the comparison.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutcomeLine {
    /// What it is about.
    pub what: OutcomeSubject,
    /// What was authorised for it, as text.
    pub authorised: Option<String>,
    /// What it held before, as text; nothing where that is not known.
    pub found: Option<String>,
    /// What it holds after, as text; nothing where that is not known.
    pub left: Option<String>,
    /// What that comes to.
    pub verdict: OrderVerdict,
}

/// What an order comes to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OrderOutcome {
    /// The lines, by group, then by what they are about.
    pub lines: Vec<OutcomeLine>,
    /// Whether a reading as left came after the last work in the order.
    pub read_after_work: bool,
    /// Steps of which nobody knows what became of them, and which were not read since.
    pub open_steps: Vec<OpenStep>,
}

impl OrderOutcome {
    /// The lines about one thing.
    pub fn about(&self, what: &OutcomeSubject) -> impl Iterator<Item = &OutcomeLine> {
        self.lines.iter().filter(move |line| line.what == *what)
    }

    /// The lines of a group.
    pub fn of(&self, group: LineGroup) -> impl Iterator<Item = &OutcomeLine> {
        self.lines.iter().filter(move |line| line.verdict.group() == group)
    }

    /// Whether something was done without authority, so that the order cannot be closed.
    pub fn blocks(&self) -> bool {
        self.of(LineGroup::WithoutAuthority).next().is_some()
    }
}
