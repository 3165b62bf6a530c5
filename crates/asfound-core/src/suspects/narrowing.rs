//! Weighted halving: which parts to take out next, so that few drives are to be expected, and what it takes to name one.
//!
//! Nothing here knows of entries. There are parts, each in or out, and a sign that a drive shows or not. What stands behind the
//! sign is a set of parts that brings it when all of them are in, either of two such sets, or something else than the parts. Where
//! it can show, it shows on each drive with the same chance, which nobody knows. So a sign that was there is certain, and one
//! that was not may have been missed: what was seen makes causes less likely, and nothing but an [`Acquittal`] names one.

mod acquittal;
mod beforehand;
mod cause;
mod rate;
mod split;

pub use acquittal::{Acquittal, Check};
pub use cause::Cause;

/// Parts by number: bit *n* is part *n*.
pub type Parts = u128;

/// The most parts that can be told apart.
pub const MOST_PARTS: usize = 100;

/// How likely a cause must be to be named as probable. A choice of this project.
const PROBABLE: f64 = 0.9;

/// How likely a cause must be so that the next round is one that it takes to name it. A choice of this project.
const WORTH_CHECKING: f64 = 0.7;

/// What is less likely than this is left out when the next round is sought.
const NEGLIGIBLE: f64 = 1e-5;

/// The chances to show on a drive that are held possible, each with how likely it is beforehand: most signs show on every drive.
/// A choice of this project, which decides which round comes next and never what is confirmed.
const RATES: [(f64, f64); 8] =
    [(1.0, 0.72), (0.9, 0.04), (0.8, 0.04), (0.65, 0.04), (0.5, 0.04), (0.35, 0.04), (0.2, 0.04), (0.1, 0.04)];

/// What rounds have shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NarrowingFinding {
    /// Several causes are left, and none is probable.
    Open,
    /// One of them is probable; whether it is certain says [`Narrowing::is_confirmed`].
    Probable(Cause),
}

/// A drive that was looked at.
#[derive(Debug, Clone, Copy)]
struct Drive {
    parts_in: Parts,
    sign: bool,
}

/// What may still stand behind a sign, and how likely each of it is.
#[derive(Debug, Clone)]
pub struct Narrowing {
    weights: Vec<f64>,
    /// Parts that can be taken out; the others are always in.
    free: Parts,
    /// The parts that were in when the sign was there.
    seen: Vec<Parts>,
    drives: Vec<Drive>,
    /// What can have brought it, the most likely first.
    causes: Vec<(Cause, f64)>,
}

impl Narrowing {
    /// Parts with these weights, of which those in `fixed` are always in.
    ///
    /// # Panics
    /// When there are more than [`MOST_PARTS`].
    pub fn new(weights: &[f64], fixed: Parts) -> Self {
        assert!(weights.len() <= MOST_PARTS, "the caller joins parts before");
        let free = (0..weights.len()).fold(0, |set: Parts, at| set | 1 << at) & !fixed;
        let (seen, drives, causes) = (Vec::new(), Vec::new(), Vec::new());
        let mut narrowing = Self { weights: weights.to_vec(), free, seen, drives, causes };
        narrowing.weigh();
        narrowing
    }

    /// Takes in that the sign was there with these parts in, without saying how often it was not: it was looked for because
    /// it was there.
    pub fn came_with(&mut self, parts_in: Parts) {
        self.seen.push(parts_in & self.free);
        self.weigh();
    }

    /// Takes in drives: which parts were in, and whether the sign was there.
    pub fn observe(&mut self, drives: impl IntoIterator<Item = (Parts, bool)>) {
        for (parts_in, sign) in drives {
            let parts_in = parts_in & self.free;
            self.drives.push(Drive { parts_in, sign });
            self.seen.extend(sign.then_some(parts_in));
        }
        self.weigh();
    }

    /// The same after one more drive.
    #[must_use]
    pub fn after(&self, parts_in: Parts, sign: bool) -> Self {
        let mut next = self.clone();
        next.observe([(parts_in, sign)]);
        next
    }

    fn weigh(&mut self) {
        let causes = beforehand::causes(&self.weights, self.free, &self.seen);
        let showings = self.drives.iter().filter(|drive| drive.sign).count();
        let away: Vec<Parts> = self.drives.iter().filter(|drive| !drive.sign).map(|drive| drive.parts_in).collect();
        let chances: Vec<f64> = (0..=away.len()).map(|missed| chance(showings, missed)).collect();
        let weighed = causes.into_iter().map(|(cause, beforehand)| {
            let missed = away.iter().filter(|parts| cause.acts_with(**parts)).count();
            (cause, beforehand * chances[missed])
        });
        self.causes = weighed.filter(|(_, likelihood)| *likelihood > 0.0).collect();
        let total: f64 = self.causes.iter().map(|(_, likelihood)| likelihood).sum();
        self.causes.iter_mut().for_each(|(_, likelihood)| *likelihood /= total);
        self.causes.retain(|(_, likelihood)| *likelihood > NEGLIGIBLE / 100.0);
        self.causes.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    }

    /// What the drives so far have shown.
    pub fn finding(&self) -> NarrowingFinding {
        if let Some(cause) = self.confirmed() {
            return NarrowingFinding::Probable(cause);
        }
        match self.causes.first() {
            Some((cause, likelihood)) if *likelihood >= PROBABLE => NarrowingFinding::Probable(*cause),
            _ => NarrowingFinding::Open,
        }
    }

    /// What it takes to name a cause.
    pub fn acquittal(&self, cause: Cause) -> Acquittal {
        Acquittal::of(cause, self.free, &self.seen, &self.drives)
    }

    /// Whether the sign was ever there.
    pub fn was_seen(&self) -> bool {
        !self.seen.is_empty()
    }

    /// The cause for which nothing is missing; there is at most one, because what it takes for two contradicts itself.
    pub fn confirmed(&self) -> Option<Cause> {
        let came_alone = |cause: &Cause| cause.sets().all(|parts| self.seen.contains(&parts));
        let mut alone = self.causes.iter().map(|(cause, _)| *cause).filter(came_alone);
        alone.find(|cause| self.acquittal(*cause).is_complete())
    }

    /// Whether the finding is certain, but for the chance of 1 in 100 that a sign which comes and goes was missed.
    pub fn is_confirmed(&self) -> bool {
        self.confirmed().is_some()
    }

    /// What may still stand behind the sign, the most likely first, parts that are always in left out; the likelihoods add
    /// up to 1, but for what is hardly possible.
    pub fn causes(&self) -> impl Iterator<Item = (Cause, f64)> {
        self.causes.iter().copied()
    }

    /// How likely it is that a part stands behind the sign, by itself or with others.
    pub fn likelihood(&self, part: usize) -> f64 {
        self.causes.iter().filter(|(cause, _)| cause.parts() >> part & 1 == 1).map(|(_, likelihood)| likelihood).sum()
    }

    /// How likely it is that the sign can come when these parts are in.
    pub fn sign_with(&self, parts_in: Parts) -> f64 {
        self.causes.iter().filter(|(cause, _)| cause.acts_with(parts_in)).map(|(_, likelihood)| likelihood).sum()
    }

    /// The entropy of what is left, in bits: fewer rounds than this cannot tell it on average, because a round has two
    /// outcomes.
    pub fn entropy(&self) -> f64 {
        self.causes.iter().map(|(_, p)| -p * p.log2()).sum()
    }

    /// The parts to have in next, best first; `now` are those that are in now. Empty once a cause is confirmed.
    pub fn proposals(&self, now: Parts) -> Vec<Parts> {
        if self.is_confirmed() {
            return Vec::new();
        }
        let fixed = now & !self.free;
        let mut all: Vec<Parts> = Vec::new();
        let leading = self.causes.first().filter(|(_, likelihood)| *likelihood >= WORTH_CHECKING);
        if let Some((cause, _)) = leading {
            all.extend(self.to_check(*cause, now));
        }
        all.extend(split::best(self, now));
        if leading.is_none() {
            all.extend(self.causes.first().into_iter().flat_map(|(cause, _)| self.to_check(*cause, now)));
        }
        let mut sets: Vec<Parts> = Vec::with_capacity(all.len());
        for set in all.into_iter().map(|set| set & self.free | fixed) {
            if !sets.contains(&set) {
                sets.push(set);
            }
        }
        sets
    }

    /// The parts to have in for what a cause still lacks: first where the sign is to stay away, because it has to come back
    /// after that; of these first as they are now.
    fn to_check(&self, cause: Cause, now: Parts) -> Vec<Parts> {
        let acquittal = self.acquittal(cause);
        let mut missing: Vec<&Check> = acquittal.checks.iter().filter(|check| check.missing() > 0).collect();
        missing.sort_by_key(|check| (check.comes, check.parts_in != now & self.free));
        missing.into_iter().map(|check| check.parts_in).collect()
    }

    /// How many drives are to be expected until a cause is confirmed, if the sign shows on every drive on which it can and
    /// the best proposal is followed each time.
    pub fn expected_drives(&self, now: Parts) -> f64 {
        let likely: Vec<(Cause, f64)> = self.causes().filter(|(_, likelihood)| *likelihood > 0.001).collect();
        let total: f64 = likely.iter().map(|(_, likelihood)| likelihood).sum();
        self.drives_among(&likely, now) / total
    }

    fn drives_among(&self, planted: &[(Cause, f64)], now: Parts) -> f64 {
        let next = match planted {
            [] => None,
            [(cause, likelihood)] if self.causes.first().is_some_and(|(first, _)| first == cause) => {
                return likelihood * f64::from(self.acquittal(*cause).missing());
            }
            _ => self.proposals(now).first().copied(),
        };
        let Some(next) = next else { return 0.0 };
        let (there, away): (Vec<_>, Vec<_>) = planted.iter().partition(|(cause, _)| cause.acts_with(next));
        let one: f64 = planted.iter().map(|(_, likelihood)| likelihood).sum();
        let branch = |sign: bool, planted: &[(Cause, f64)]| {
            if planted.is_empty() { 0.0 } else { self.after(next, sign).drives_among(planted, next) }
        };
        one + branch(true, &there) + branch(false, &away)
    }

    /// The fewest drives that can be enough on average, if the sign shows on every drive on which it can: those that tell
    /// what is left apart, or those that it takes to name the most likely cause, whichever are more.
    pub fn least_drives(&self) -> f64 {
        let missing = self.causes.first().map_or(0, |(cause, _)| self.acquittal(*cause).missing());
        self.entropy().max(f64::from(missing))
    }
}

/// How likely it is that the sign shows so often and is missed so often, over all chances that it may have.
fn chance(showings: usize, missed: usize) -> f64 {
    let power = |base: f64, count: usize| base.powi(i32::try_from(count).unwrap_or(i32::MAX));
    RATES.iter().map(|(rate, beforehand)| beforehand * power(*rate, showings) * power(1.0 - rate, missed)).sum()
}
