//! Bits that come to a set one after the other, and never leave it.

use time::OffsetDateTime;

use crate::value::BitMask;

/// Which bits are in the set since when.
#[derive(Debug, Clone, Default)]
pub(super) struct Steps(Vec<(OffsetDateTime, BitMask)>);

impl Steps {
    /// Of bits and the moments from which they are in the set, in any order.
    pub(super) fn of(mut joined: Vec<(OffsetDateTime, BitMask)>) -> Self {
        joined.sort_by_key(|(at, _)| *at);
        let mut steps: Vec<(OffsetDateTime, BitMask)> = Vec::new();
        for (at, bits) in joined {
            let known = steps.last().map(|(_, all)| all.clone()).unwrap_or_default();
            let new = bits.without(&known);
            if !new.is_empty() {
                let mut all = known;
                all.add(&new);
                steps.push((at, all));
            }
        }
        Self(steps)
    }

    /// The bits that are in the set at a moment, or in the end.
    pub(super) fn at(&self, moment: Option<OffsetDateTime>) -> Option<&BitMask> {
        let after = self.0.partition_point(|(at, _)| moment.is_none_or(|moment| *at <= moment));
        self.0[..after].last().map(|(_, all)| all)
    }
}
