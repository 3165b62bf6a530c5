//! What happens to the vehicle or to its journal.

use proptest::prelude::*;
use proptest::sample::Index;

/// What happens to the vehicle or to its journal.
#[derive(Clone, Debug)]
pub enum Event {
    /// Some modules are read: for each, which records by bytes, which settings by value, and whether it is asked what it is.
    Read([Option<(u8, u8, bool)>; 3]),
    /// Settings are changed as the plan says.
    Change(Vec<(Index, Index)>),
    /// Bits of a record are changed, also ones that nobody has named.
    ChangeBits(Index, u8, u8),
    /// Somebody writes down a change that was not made.
    Claim(Index, Index),
    /// Another hand sets a setting.
    Hand(Index, Index),
    /// Another hand alters bits.
    HandBits(Index, u8),
    Update(Index),
    Swap(Index),
    PutBack(Vec<Index>),
    PutBackAll,
    ReturnTo(Index),
    NeverMade(Index),
}

/// Events, one a line when a case that fails is shown.
#[derive(Clone)]
pub struct Events(pub Vec<Event>);

impl std::fmt::Debug for Events {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.iter().try_for_each(|event| write!(f, "\n  {event:?}"))
    }
}

pub fn events() -> impl Strategy<Value = Events> {
    let index = any::<Index>;
    let said = || prop::option::of((any::<u8>(), any::<u8>(), any::<bool>()));
    let all = || Just(Some((0xFF, 0, true)));
    prop::collection::vec(
        prop_oneof![
            3 => [all(), all(), all()].prop_map(Event::Read),
            4 => [said(), said(), said()].prop_map(Event::Read),
            6 => prop::collection::vec((index(), index()), 1..4).prop_map(Event::Change),
            3 => (index(), any::<u8>(), any::<u8>()).prop_map(|(at, x, y)| Event::ChangeBits(at, x, y)),
            1 => (index(), index()).prop_map(|(at, value)| Event::Claim(at, value)),
            4 => (index(), index()).prop_map(|(at, value)| Event::Hand(at, value)),
            1 => (index(), any::<u8>()).prop_map(|(at, bits)| Event::HandBits(at, bits)),
            1 => index().prop_map(Event::Update),
            1 => index().prop_map(Event::Swap),
            5 => prop::collection::vec(index(), 1..4).prop_map(Event::PutBack),
            1 => Just(Event::PutBackAll),
            2 => index().prop_map(Event::ReturnTo),
            2 => index().prop_map(Event::NeverMade),
        ],
        1..30,
    )
    .prop_map(Events)
}
