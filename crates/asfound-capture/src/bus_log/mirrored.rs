//! One conversation that a log has from two buses.

use asfound_wire::conversation::{ModuleTimeline, RecordEvent, RecordHappening, RecordTimeline};

use super::BusModule;

/// The same thing on two buses is logged within this time, in nanoseconds.
const TOGETHER: u64 = 1_000_000_000;

/// Unites modules of one address on two buses of which everything was heard on one of them that was heard on the other, at the same time: a
/// gateway that passes on, or two loggers on one bus.
pub(super) fn unite_mirrored(modules: &mut Vec<BusModule>) {
    let mut place = modules.len();
    while place > 0 {
        place -= 1;
        let module = &modules[place];
        let same = |(at, other): &(usize, &BusModule)| {
            *at != place && other.said() == module.said() && mirrors(&other.timeline, &module.timeline)
        };
        let Some(more) = modules.iter().enumerate().find(same).map(|(at, _)| at) else { continue };
        let less = modules.remove(place);
        let more = &mut modules[if more > place { more - 1 } else { more }];
        more.mirrored.extend(less.bus);
        more.mirrored.extend(less.mirrored);
        place = place.min(modules.len());
    }
}

/// Whether everything in `part` is in `whole` too.
fn mirrors(whole: &ModuleTimeline, part: &ModuleTimeline) -> bool {
    let nothing = RecordTimeline::default();
    let in_whole = |record: &u16| whole.records.get(record).unwrap_or(&nothing);
    !part.records.is_empty() && part.records.iter().all(|(record, events)| contains(in_whole(record), events))
}

fn contains(whole: &RecordTimeline, part: &RecordTimeline) -> bool {
    let mut events = whole.events().iter();
    part.events().iter().all(|event| events.any(|other| is_same(other, event)))
}

fn is_same(one: &RecordEvent, other: &RecordEvent) -> bool {
    let what = match (&one.what, &other.what) {
        (RecordHappening::Read(one), RecordHappening::Read(other)) => one.bytes == other.bytes,
        (one, other) => one == other,
    };
    let times = one.at.zip(other.at).is_some_and(|(one, other)| one.since(other).max(other.since(one)) <= TOGETHER);
    what && times
}
