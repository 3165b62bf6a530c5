//! What logs do not tell.

use asfound_core::entry::{WireAnswer, WireWrite};
use asfound_core::names::ModuleName;
use asfound_core::state::State;

use super::{BusSummary, ModuleIdentification};

/// Something that the logs do not tell. Writes are given by their place in [`WitnessBody::writes`](asfound_core::entry::BusLogBody::writes).
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CannotTell {
    /// Something in the log was mended to make a write out.
    Mended(usize),
    /// A write has no answer, and was not read back.
    WhetherWritten(usize),
    /// A write has no answer; it was read back.
    NotAnswered(usize),
    /// The request of a write is not in the logs.
    WhatWasWritten(usize),
    /// Something else was read back than was written.
    ReadBackOtherwise(usize),
    /// A write was accepted and not read back.
    NotReadBack(usize),
    /// What was there before a write was not read, and the journal does not know it.
    NotReadBefore(usize),
    /// Answers of a module whose requests are not in the logs.
    WithoutRequest(ModuleName, u64),
    /// Requests to a module without an answer in the logs.
    WithoutAnswer(ModuleName, u64),
    /// Answers with several records that cannot be told apart.
    NotToldApart(ModuleName, usize),
    /// Messages that did not get through.
    Broken(u64),
}

/// Everything that the logs do not tell.
pub(super) fn cannot_tell(
    heard: &BusSummary,
    placing: &ModuleIdentification,
    writes: &[WireWrite],
    state: &State,
) -> Vec<CannotTell> {
    let mut list = Vec::new();
    for (place, write) in writes.iter().enumerate() {
        let known = || state.record(&write.module, &write.record).is_some();
        if write.answer == WireAnswer::Refused {
            continue;
        }
        match (write.answer, write.read_back_agrees()) {
            _ if write.written.is_none() && write.left().is_none() => list.push(CannotTell::WhatWasWritten(place)),
            (_, Some(false)) => list.push(CannotTell::ReadBackOtherwise(place)),
            (WireAnswer::None, None) => list.push(CannotTell::WhetherWritten(place)),
            (WireAnswer::None, Some(true)) => list.push(CannotTell::NotAnswered(place)),
            (_, None) if write.written.is_some() => list.push(CannotTell::NotReadBack(place)),
            (_, None | Some(true)) => {}
        }
        if !write.mended.is_empty() && write.left().is_some() {
            list.push(CannotTell::Mended(place));
        }
        let first = !writes[..place].iter().any(|other| other.same_record(write));
        if first && write.found.is_none() && !known() {
            list.push(CannotTell::NotReadBefore(place));
        }
    }
    for placed in &placing.placed {
        let timeline = &heard.modules[placed.heard].timeline;
        let module = || placed.module.clone();
        if timeline.without_request > 0 {
            list.push(CannotTell::WithoutRequest(module(), timeline.without_request));
        }
        if timeline.without_answer > 0 {
            list.push(CannotTell::WithoutAnswer(module(), timeline.without_answer));
        }
        if !timeline.unsplit.is_empty() {
            list.push(CannotTell::NotToldApart(module(), timeline.unsplit.len()));
        }
    }
    if heard.broken > 0 {
        list.push(CannotTell::Broken(heard.broken));
    }
    list
}
