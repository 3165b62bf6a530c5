//! Weighted halving: which parts to take out next, so that the fewest drives are to be expected.
//!
//! Nothing here knows of entries. There are parts, each in or out, and a sign that is there or not. What may stand behind the
//! sign is one part, two parts together, or none of them; the sign is there when everything that stands behind it is
//! in. A round takes parts out, or puts them in again, and sees whether the sign is there.

mod split;

use std::collections::BTreeMap;

/// Parts by number: bit *n* is part *n*.
pub type Parts = u128;

/// The most parts that can be told apart.
pub const MOST_PARTS: usize = 100;

/// How likely it is beforehand that no part stands behind the sign. A choice of this project.
const NONE_BEFOREHAND: f64 = 0.1;

/// How likely it is beforehand that two parts together stand behind it. A choice of this project.
const PAIR_BEFOREHAND: f64 = 0.1;

/// What rounds have shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// Several answers are left.
    Open,
    /// This part, by itself or together with parts that are always in.
    One(usize),
    /// These two parts together.
    Pair(usize, usize),
    /// None of the parts that can be taken out.
    None,
    /// No answer fits what was seen.
    Contradiction,
}

/// What may still stand behind a sign, and how likely each of it is.
#[derive(Debug, Clone)]
pub struct Narrowing {
    /// Parts that are always in, because they are not experimented with.
    fixed: Parts,
    count: usize,
    /// The parts that were in whenever the sign was there: what stands behind it is among them, however many it takes.
    within: Parts,
    /// What must be in for the sign to be there, always-in parts left out, with its likelihood.
    answers: BTreeMap<Parts, f64>,
}

impl Narrowing {
    /// Parts with these weights, of which those in `fixed` are always in.
    ///
    /// # Panics
    /// When there are more than [`MOST_PARTS`].
    pub fn new(weights: &[f64], fixed: Parts) -> Self {
        assert!(weights.len() <= MOST_PARTS, "the caller joins parts before");
        let total: f64 = weights.iter().sum();
        let mut answers: BTreeMap<Parts, f64> = BTreeMap::new();
        *answers.entry(0).or_default() += NONE_BEFOREHAND;
        let pairs: f64 =
            (0..weights.len()).flat_map(|b| (0..b).map(move |a| (a, b))).map(|(a, b)| weights[a] * weights[b]).sum();
        for (a, weight) in weights.iter().enumerate() {
            *answers.entry(1 << a & !fixed).or_default() += weight / total * (1.0 - NONE_BEFOREHAND - PAIR_BEFOREHAND);
            for (b, other) in weights.iter().enumerate().take(a) {
                let together: Parts = 1 << a | 1 << b;
                *answers.entry(together & !fixed).or_default() += weight * other / pairs * PAIR_BEFOREHAND;
            }
        }
        let within = if weights.is_empty() { 0 } else { Parts::MAX >> (Parts::BITS - Self::bits(weights.len())) };
        Self { fixed, count: weights.len(), within, answers }.normalised()
    }

    fn bits(count: usize) -> u32 {
        u32::try_from(count).unwrap_or(Parts::BITS)
    }

    fn normalised(mut self) -> Self {
        let total: f64 = self.answers.values().sum();
        self.answers.values_mut().for_each(|likelihood| *likelihood /= total);
        self
    }

    /// Takes in a round: which parts were in, and whether the sign was there.
    #[must_use]
    pub fn after(&self, parts_in: Parts, sign: bool) -> Self {
        let mut next = self.clone();
        if sign {
            next.within &= parts_in | self.fixed;
        }
        next.answers.retain(|answer, _| (answer & !parts_in & !self.fixed == 0) == sign);
        if next.answers.is_empty() { next } else { next.normalised() }
    }

    /// What the rounds so far have shown.
    pub fn finding(&self) -> Finding {
        let mut answers = self.answers.keys();
        match (answers.next(), answers.next()) {
            (None, _) => Finding::Contradiction,
            (Some(_), Some(_)) => Finding::Open,
            (Some(0), None) => Finding::None,
            (Some(answer), None) => {
                let mut parts = (0..self.count).filter(|part| answer >> part & 1 == 1);
                match (parts.next(), parts.next()) {
                    (Some(a), Some(b)) => Finding::Pair(a, b),
                    (Some(a), None) => Finding::One(a),
                    (None, _) => Finding::None,
                }
            }
        }
    }

    /// Whether a finding holds even if more than two parts were needed together: the sign was there, in one round or
    /// another, without each of the other parts.
    pub fn is_confirmed(&self) -> bool {
        match (self.finding(), self.answers.keys().next()) {
            (Finding::One(_) | Finding::Pair(..) | Finding::None, Some(answer)) => self.within & !self.fixed == *answer,
            _ => false,
        }
    }

    /// The parts to have in for the round that makes sure of a finding which is not confirmed yet: those that it names, and no
    /// others.
    pub fn to_confirm(&self) -> Option<Parts> {
        let answer = self.answers.keys().next().filter(|_| !matches!(self.finding(), Finding::Open))?;
        (!self.is_confirmed()).then_some(answer | self.fixed)
    }

    /// What may still stand behind the sign, parts that are always in left out, and how likely each of it is; the likelihoods
    /// add up to 1.
    pub fn answers(&self) -> impl Iterator<Item = (Parts, f64)> {
        self.answers.iter().map(|(answer, likelihood)| (*answer, *likelihood))
    }

    /// How likely it is that a part stands behind the sign, by itself or in a pair.
    pub fn likelihood(&self, part: usize) -> f64 {
        self.answers.iter().filter(|(answer, _)| **answer >> part & 1 == 1).map(|(_, likelihood)| likelihood).sum()
    }

    /// How likely it is that the sign is there when these parts are in.
    pub fn sign_with(&self, parts_in: Parts) -> f64 {
        let there = self.answers.iter().filter(|(answer, _)| *answer & !parts_in & !self.fixed == 0);
        there.map(|(_, likelihood)| likelihood).sum()
    }

    /// The entropy of what is left, in bits: fewer rounds than this cannot be enough on average, because a round has
    /// two outcomes.
    pub fn entropy(&self) -> f64 {
        self.answers.values().filter(|p| **p > 0.0).map(|p| -p * p.log2()).sum()
    }

    /// The parts to have in next, best first, of those sets that tell anything; `now` are the parts that are in now, and of
    /// equally good sets those that move fewer parts come first. Empty once nothing is open.
    pub fn proposals(&self, now: Parts) -> Vec<Parts> {
        if self.finding() == Finding::Open { split::best(self, now) } else { Vec::new() }
    }

    /// How many rounds are to be expected until nothing is open, if the best proposal is followed each time.
    pub fn expected_rounds(&self, now: Parts) -> f64 {
        let Some(next) = self.proposals(now).first().copied() else { return 0.0 };
        let there = self.sign_with(next);
        let branch = |sign: bool| self.after(next, sign).expected_rounds(next);
        1.0 + there * branch(true) + (1.0 - there) * branch(false)
    }
}
