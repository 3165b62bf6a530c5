//! What it takes to name somebody: alone in, the sign comes back; alone out, it stays away.
//!
//! That the sign comes back with nothing but some parts in is certain as soon as it was seen once. That it stays away is
//! certain only after as many drives as a sign of that kind is hardly missed on. Both together leave one cause: parts that bring
//! the sign by themselves and without which everything else does not bring it.

use super::rate::{SHOWINGS, drives_needed, noticed_from};
use super::{Cause, Drive, Parts};

/// What is to be seen while some parts are in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Check {
    /// The parts that are in, of those that can be taken out.
    pub parts_in: Parts,
    /// Whether the sign is to come back; otherwise it is to stay away.
    pub comes: bool,
    /// On how many drives it did that.
    pub seen: u32,
    /// On how many drives that was looked at.
    pub drives: u32,
    /// On how many it has to.
    pub needed: u32,
}

impl Check {
    /// How many drives are missing at least.
    pub fn missing(&self) -> u32 {
        self.needed.saturating_sub(self.seen)
    }
}

/// Everything that is to be seen before a cause may be named for certain.
#[derive(Debug, Clone, PartialEq)]
pub struct Acquittal {
    /// What is to be seen, absences first.
    pub checks: Vec<Check>,
    /// How often a second cause must show at least so that it would have been noticed.
    pub noticed_from: f64,
}

impl Acquittal {
    /// For a cause; `free` are the parts that can be taken out.
    pub(super) fn of(cause: Cause, free: Parts, seen: &[Parts], drives: &[Drive]) -> Self {
        if cause == Cause::NONE {
            // It came with all of them out: that is enough, and more drives cannot change it.
            let out = seen.iter().filter(|parts| *parts & free == 0).count();
            let all = drives.iter().filter(|drive| drive.parts_in & free == 0).count();
            let (seen, drives) = (count(out), count(all));
            return Self {
                checks: vec![Check { parts_in: 0, comes: true, seen, drives, needed: 1 }],
                noticed_from: 0.0,
            };
        }
        let tally = |parts: Parts, sign: bool| {
            let mut all = 0;
            let here = drives.iter().enumerate().filter(|(_, drive)| drive.parts_in & free == parts);
            let places: Vec<usize> =
                here.inspect(|_| all += 1).filter(|(_, drive)| drive.sign == sign).map(|(at, _)| at).collect();
            (places, all)
        };
        let comes: Vec<(Parts, Vec<usize>, u32)> = cause
            .sets()
            .map(|parts| {
                let (places, all) = tally(parts, true);
                (parts, places, all)
            })
            .collect();
        let outs = cause.without();
        // The rarer of two showings decides.
        let rates = comes.iter().map(|(_, places, all)| drives_needed(count(places.len()), *all, outs.len()));
        let away = rates.max().unwrap_or(1);
        let mut checks = Vec::new();
        let (mut first_away, mut fewest) = (Some(0), u32::MAX);
        for out in outs {
            let parts_in = free & !out;
            let (places, drives) = tally(parts_in, false);
            first_away = first_away.and_then(|latest: usize| Some(latest.max(*places.first()?)));
            fewest = fewest.min(count(places.len()));
            checks.push(Check { parts_in, comes: false, seen: count(places.len()), drives, needed: away });
        }
        for (parts_in, places, drives) in comes {
            let seen = count(places.len());
            // It has to come back after it stayed away: else it may have gone by itself in between.
            let gone = first_away.is_some_and(|away| places.last().is_none_or(|last| *last < away));
            let needed = if gone { SHOWINGS.max(seen + 1) } else { SHOWINGS };
            checks.push(Check { parts_in, comes: true, seen, drives, needed });
        }
        Self { checks, noticed_from: noticed_from(fewest) }
    }

    /// How many drives are missing at least.
    pub fn missing(&self) -> u32 {
        self.checks.iter().map(Check::missing).sum()
    }

    /// Whether nothing is missing.
    pub fn is_complete(&self) -> bool {
        self.missing() == 0
    }
}

fn count(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
