//! What several logs, or several conversations of one log, tell of one module.

use std::collections::BTreeMap;

use super::{Action, CodesRead, LeftOpen, MemoryWrite, ModuleTimeline, Unsplit};

impl ModuleTimeline {
    /// Adds what a later log shows of the same module; `after` is how many frames and messages came before that log, so that
    /// what `number` says stays in one order.
    pub fn then(&mut self, later: Self, after: u64) {
        self.testers.extend(later.testers);
        for (record, timeline) in later.records {
            self.records.entry(record).or_default().then(timeline, after);
        }
        self.unsplit.extend(later.unsplit.into_iter().map(|one| Unsplit { number: one.number + after, ..one }));
        self.codes.extend(later.codes.into_iter().map(|one| CodesRead { number: one.number + after, ..one }));
        self.actions.extend(later.actions.into_iter().map(|one| Action { number: one.number + after, ..one }));
        for (record, timeline) in later.local_records {
            self.local_records.entry(record).or_default().then(timeline, after);
        }
        self.memory_writes
            .extend(later.memory_writes.into_iter().map(|one| MemoryWrite { number: one.number + after, ..one }));
        self.left_open.extend(later.left_open.into_iter().map(|one| LeftOpen { number: one.number + after, ..one }));
        self.say_of_vehicle(later.vehicle_information);
        self.not_listed += later.not_listed;
        for (service, count) in later.services {
            *self.services.entry(service).or_default() += count;
        }
        self.without_request += later.without_request;
        self.without_answer += later.without_answer;
    }

    /// Adds what the same logs show of the same module where it answers another tester.
    pub fn unite(&mut self, other: Self) {
        self.testers.extend(other.testers);
        for (record, timeline) in other.records {
            self.records.entry(record).or_default().add_late(timeline.into_events());
        }
        self.unsplit.extend(other.unsplit);
        self.unsplit.sort_by_key(|one| one.number);
        self.codes.extend(other.codes);
        self.codes.sort_by_key(|one| one.number);
        self.actions.extend(other.actions);
        self.actions.sort_by_key(|one| one.number);
        for (record, timeline) in other.local_records {
            self.local_records.entry(record).or_default().add_late(timeline.into_events());
        }
        self.memory_writes.extend(other.memory_writes);
        self.memory_writes.sort_by_key(|one| one.number);
        self.left_open.extend(other.left_open);
        self.left_open.sort_by_key(|one| one.number);
        self.say_of_vehicle(other.vehicle_information);
        self.not_listed += other.not_listed;
        for (service, count) in other.services {
            *self.services.entry(service).or_default() += count;
        }
        self.without_request += other.without_request;
        self.without_answer += other.without_answer;
    }

    fn say_of_vehicle(&mut self, information: BTreeMap<u8, Vec<u8>>) {
        for (kind, said) in information {
            self.vehicle_information.entry(kind).or_insert(said);
        }
    }
}
