//! Holds work on restricted systems against its acknowledgements.

use asfound_core::entry::Entry;
use asfound_core::plan::unacknowledged;
use asfound_core::state::State;

use super::FindingKind;
use super::pinned::PinnedDefinitions;

/// Says of an entry which restricted systems it alters without an acknowledgement, by the definitions that it carries and
/// by names. `state` is the state after it.
pub(super) fn check(entry: &Entry, state: &State, pinned: &PinnedDefinitions) -> Option<FindingKind> {
    let work = entry.body.work()?;
    let missing = unacknowledged(work, |module| pinned.fitting(module, &state.identity(module)));
    (!missing.is_empty()).then_some(FindingKind::Unacknowledged(missing))
}
