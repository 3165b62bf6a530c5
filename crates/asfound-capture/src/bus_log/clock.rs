//! Finds the journal's entries in the logs, and by how much the clocks differ.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::WireAnswer;
use asfound_core::history::History;
use asfound_core::names::EntryNumber;
use time::{Duration, OffsetDateTime};

use super::logged::LoggedWrite;
use super::recorded_work::RecordedWork;

/// What is found of the logs' clock.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Clock {
    /// By how many milliseconds the journal's times are later than the logs': the middle one of those that were found.
    pub journal_later_ms: Option<i64>,
    /// Between the smallest and the largest of them, in milliseconds.
    pub spread_ms: i64,
    /// How many writes were found in the journal with a time.
    pub found: usize,
    /// By how many milliseconds the logs' times are put later, because their clock tells no date or somebody said when they
    /// began.
    pub put_later_ms: Option<i64>,
}

/// Entries are written down after the work, some of them in the evening; and a log's clock may be in another time zone.
const WINDOW: Duration = Duration::hours(26);
/// Writes and entries that differ by the same time to this much belong together.
const TOGETHER_MS: i64 = 15 * 60 * 1000;
/// More candidates than this are not tried as the difference of the clocks.
const MOST_TRIED: usize = 1000;

struct Candidate {
    write: usize,
    work: usize,
    /// By how many milliseconds the entry is later than the write.
    later: i64,
    /// Whether the write altered what the entry is about.
    alters: bool,
}

/// Writes the number of the entry into each write that is found in the journal. `dated` says whether the logs' clock tells
/// the date.
pub(super) fn find(
    writes: &mut [LoggedWrite],
    works: &[RecordedWork],
    history: &History,
    definitions: &DefinitionSet,
    dated: bool,
) -> Clock {
    let mut candidates = Vec::new();
    for (write, told) in writes.iter().enumerate() {
        for (work, recorded) in works.iter().enumerate() {
            if recorded.may_be(&told.write, history, definitions) {
                let later = told.write.at.map_or(0, |at| milliseconds(recorded.happened - at));
                if !dated || later.abs() <= milliseconds(WINDOW) {
                    let alters = recorded.altered_by(told, history, definitions);
                    candidates.push(Candidate { write, work, later, alters });
                }
            }
        }
    }
    let near = |later: i64| {
        let near = candidates.iter().filter(|one| (one.later - later).abs() <= TOGETHER_MS);
        near.map(|one| one.write).collect::<BTreeSet<_>>().len()
    };
    let tried = candidates.iter().take(MOST_TRIED).map(|one| one.later);
    let Some(usual) = tried.max_by_key(|later| (near(*later), -later.abs())) else { return Clock::default() };
    // Writing again what is there already is not what an entry tells of, if another write is.
    candidates.sort_by_key(|one| (!one.alters, (one.later - usual).abs(), one.work, one.write));
    let mut taken: BTreeMap<usize, EntryNumber> = BTreeMap::new();
    let mut given = BTreeSet::new();
    let mut found = Vec::new();
    for one in candidates {
        let entry = works[one.work].entry;
        // An entry may tell of several settings that one write carried.
        if taken.get(&one.write).is_none_or(|other| *other == entry) && given.insert(one.work) {
            taken.insert(one.write, entry);
            writes[one.write].write.entry = Some(entry);
            writes_before(writes, one.write, &works[one.work]);
            if writes[one.write].write.at.is_some() {
                found.push(one.later);
            }
        }
    }
    found.sort_unstable();
    Clock {
        journal_later_ms: found.get(found.len() / 2).copied(),
        spread_ms: found.last().zip(found.first()).map_or(0, |(last, first)| last - first),
        found: found.len(),
        put_later_ms: None,
    }
}

/// An entry tells of what was found first and left last: writes in between, of the same record, are its work too.
fn writes_before(writes: &mut [LoggedWrite], last: usize, work: &RecordedWork) {
    let Some(found) = work.found() else { return };
    if writes[last].before.as_ref() == Some(found) {
        return;
    }
    let mut between = Vec::new();
    for at in (0..last).rev() {
        let other = &writes[at].write;
        if !other.same_record(&writes[last].write) || other.answer != WireAnswer::Accepted {
            continue;
        }
        // What another tester wrote in between is not the entry's.
        if other.entry.is_some() || other.tester != writes[last].write.tester {
            return;
        }
        between.push(at);
        if writes[at].before.as_ref() == Some(found) {
            between.into_iter().for_each(|at| writes[at].write.entry = Some(work.entry));
            return;
        }
    }
}

/// Whether a clock can be right as to the date: not before 2000, and not tomorrow.
pub(super) fn tells_the_date(first: OffsetDateTime, now: OffsetDateTime) -> bool {
    first.year() >= 2000 && first <= now + Duration::DAY
}

pub(super) fn milliseconds(duration: Duration) -> i64 {
    i64::try_from(duration.whole_milliseconds()).unwrap_or(i64::MAX)
}
