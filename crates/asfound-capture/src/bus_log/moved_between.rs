//! Bits that logs show to change although nothing is written: measured values, counters, clocks.

use asfound_core::entry::WireMovement;
use asfound_core::names::{ModuleName, RecordName};
use asfound_core::value::{BitMask, HexBytes};
use asfound_wire::conversation::{Action, ActionKind, ModuleTimeline, RecordHappening, RecordTimeline, WriteOutcome};
use asfound_wire::frame::Timestamp;

use super::BusSummary;
use super::identity::is_of_identity;
use super::logged::date;

/// What moved between two writes.
#[derive(Default)]
struct MovedBetween {
    bits: BitMask,
    times: u32,
    from: Option<Timestamp>,
    until: Option<Timestamp>,
}

/// Every record of a module that was read otherwise than just before, with nothing in between that could have altered it;
/// one for each span between writes.
pub(super) fn movements(heard: &BusSummary, module: &ModuleName, timeline: &ModuleTimeline) -> Vec<WireMovement> {
    let actions = timeline.actions.iter().filter(|one| may_alter(one)).map(|one| one.number);
    // A frame's number may be that of the end of the log before it.
    let mut altering: Vec<u64> = actions.chain(heard.ends.iter().copied()).collect();
    altering.sort_unstable();
    let mut all = Vec::new();
    for (record, events) in timeline.records.iter().filter(|(record, _)| !is_of_identity(**record)) {
        for span in spans(events, &altering) {
            // Where messages did not get through, one of them may have been a write: something that is seen once proves nothing.
            if span.times > 1 || (span.times == 1 && heard.broken == 0) {
                all.push(WireMovement {
                    module: module.clone(),
                    record: RecordName::Identifier(*record),
                    bits: HexBytes::from(span.bits.as_bytes().to_vec()),
                    times: span.times,
                    from: date(span.from),
                    until: date(span.until),
                });
            }
        }
    }
    all
}

/// Whether what was done may alter a record without writing it: a routine, a download, a service that nobody knows.
fn may_alter(action: &Action) -> bool {
    let harmless = matches!(
        action.kind,
        ActionKind::Session(_)
            | ActionKind::SecurityAccess(_)
            | ActionKind::Communication(_)
            | ActionKind::CodeRecording(_)
    );
    !harmless && action.accepted != Some(false)
}

fn spans(events: &RecordTimeline, altering: &[u64]) -> Vec<MovedBetween> {
    let mut spans: Vec<MovedBetween> = vec![MovedBetween::default()];
    let mut before: Option<(&[u8], u64, Option<Timestamp>)> = None;
    for event in events.events() {
        match &event.what {
            RecordHappening::Read(run) => {
                let last = before.replace((&run.bytes, event.number, run.until.or(event.at)));
                let Some((bytes, number, at)) = last else { continue };
                let first = altering.partition_point(|other| *other < number);
                let altered = altering.get(first).is_some_and(|other| *other <= event.number);
                let bits = BitMask::differing(bytes, &run.bytes);
                if altered || bits.is_empty() || bytes.len() != run.bytes.len() {
                    continue;
                }
                if let Some(span) = spans.last_mut() {
                    span.bits.add(&bits);
                    span.times = span.times.saturating_add(1);
                    span.from = span.from.or(at);
                    span.until = event.at.or(span.until);
                }
            }
            // What was refused altered nothing.
            RecordHappening::Write { outcome: WriteOutcome::Refused(_), .. }
            | RecordHappening::ReadRefused(_)
            | RecordHappening::ReadUnanswered => {}
            RecordHappening::Write { .. } => {
                before = None;
                spans.push(MovedBetween::default());
            }
        }
    }
    spans
}
