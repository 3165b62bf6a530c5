//! What may stand behind a sign.

use super::Parts;

/// What stands behind a sign: parts that bring it when all of them are in, or either of two such sets. The empty set is
/// something else than the parts, which is always in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cause {
    first: Parts,
    /// Another set that brings it by itself.
    other: Option<Parts>,
}

impl Cause {
    /// None of the parts.
    pub const NONE: Self = Self { first: 0, other: None };

    /// These parts together.
    pub const fn together(parts: Parts) -> Self {
        Self { first: parts, other: None }
    }

    /// Either of two sets by itself; where one of them holds the other, the smaller.
    pub fn either(a: Parts, b: Parts) -> Self {
        let (a, b) = (a.min(b), a.max(b));
        match (a & !b == 0, b & !a == 0) {
            (true, _) => Self::together(a),
            (_, true) => Self::together(b),
            _ => Self { first: a, other: Some(b) },
        }
    }

    /// The sets that bring the sign, each by itself.
    pub fn sets(self) -> impl Iterator<Item = Parts> {
        [Some(self.first), self.other].into_iter().flatten()
    }

    /// All parts that it names.
    pub fn parts(self) -> Parts {
        self.first | self.other.unwrap_or(0)
    }

    /// Whether it can bring the sign while these parts are in.
    pub fn acts_with(self, parts_in: Parts) -> bool {
        self.first & !parts_in == 0 || self.other.is_some_and(|other| other & !parts_in == 0)
    }

    /// The smallest sets of parts without which the sign cannot come: out of each set one.
    pub(super) fn without(self) -> Vec<Parts> {
        let singles = |parts: Parts| (0..Parts::BITS).map(|at| 1 << at).filter(move |bit: &Parts| parts & bit != 0);
        let Some(other) = self.other else { return singles(self.first).collect() };
        let mut all: Vec<Parts> = singles(self.first).flat_map(|a| singles(other).map(move |b| a | b)).collect();
        all.sort_unstable_by_key(|set| (set.count_ones(), *set));
        all.dedup();
        let smaller = |set: Parts| all.iter().any(|it| *it != set && it & !set == 0);
        all.iter().copied().filter(|set| !smaller(*set)).collect()
    }
}
