//! The times of entries, one after the other.

use asfound_core::entry::Entry;
use time::OffsetDateTime;

use super::FindingKind;

/// Follows the times at which entries were recorded.
#[derive(Debug, Default)]
pub(super) struct RecordingTimes {
    before: Option<OffsetDateTime>,
}

impl RecordingTimes {
    /// What is odd about an entry's times, given those of the entries before.
    pub(super) fn check(&mut self, entry: &Entry) -> Vec<FindingKind> {
        let (recorded, happened) = (entry.recorded, entry.happened);
        let mut findings = Vec::new();
        if let Some(before) = self.before.replace(recorded)
            && recorded < before
        {
            findings.push(FindingKind::RunsBackwards { before, recorded });
        }
        if happened > recorded {
            findings.push(FindingKind::HappenedLater { happened, recorded });
        }
        findings
    }
}
