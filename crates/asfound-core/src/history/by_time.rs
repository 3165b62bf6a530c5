//! Tells a history that was traced by places in time by the numbers of its entries.

use super::chronology::TimeOrder;
use super::{History, Timelines};

impl History {
    /// The same history, its entries told by their numbers and no longer by their places in time.
    pub(super) fn by_time(self, order: TimeOrder) -> Self {
        let number = |place| order.entry_at(place);
        let timelines = self.timelines.into_fields().map(|(field, timeline)| (field, timeline.numbered(&number)));
        let last_said = self.last_said.into_iter().map(|(field, said)| (field, said.map(number)));
        let keyed = |by_entry: std::collections::BTreeMap<_, _>| by_entry.into_iter().map(|(at, it)| (number(at), it));
        Self {
            timelines: Timelines::of(timelines.collect()),
            last_said: last_said.collect(),
            only_declared_volatile: self.only_declared_volatile.into_iter().map(number).collect(),
            last_reading: self.last_reading.map(number),
            layout_changed: self.layout_changed.into_iter().map(|(key, since)| (key, number(since))).collect(),
            wire: self.wire.into_iter().map(|(field, all)| (field, keyed(all).collect())).collect(),
            witnessed: self
                .witnessed
                .into_iter()
                .map(|(field, all)| (field, all.into_iter().map(|(at, log)| (number(at), log)).collect()))
                .collect(),
            order: Some(order),
            ..self
        }
    }
}
