//! What may stand behind a sign before anything was tried, and how likely each is. All numbers here are choices of this
//! project: they decide which round comes next, never what is confirmed.

use std::collections::BTreeMap;

use super::{Cause, Parts};

/// None of the parts.
const NONE: f64 = 0.1;
/// Two parts together.
const PAIR: f64 = 0.1;
/// Three together.
const TRIPLE: f64 = 0.03;
/// More than three together, for every further part a quarter of it.
const MORE: f64 = 0.01;
/// Either of two parts.
const EITHER: f64 = 0.07;
/// A part, or two others together.
const PART_OR_PAIR: f64 = 0.01;

/// The most causes of one kind that are looked at.
const MOST_OF_A_KIND: usize = 6_000;

/// Up to how many parts every set of them is looked at.
const EVERY_SET: usize = 10;

/// The causes that can have brought the sign whenever it was there, with how likely each was beforehand.
///
/// `seen` are the sets of parts that were in when the sign was there, `free` those that can be taken out.
pub(super) fn causes(weights: &[f64], free: Parts, seen: &[Parts]) -> BTreeMap<Cause, f64> {
    let count = weights.len();
    let total: f64 = weights.iter().sum();
    let share: Vec<f64> = weights.iter().map(|weight| weight / total).collect();
    let all: Parts = (0..count).fold(0, |set, at| set | 1 << at);
    let always = seen.iter().fold(all, |within, parts| within & parts) | (all & !free);
    let within: Vec<usize> = (0..count).filter(|at| always >> at & 1 == 1).collect();
    let sums = sums_of_products(&share);
    let mut found: BTreeMap<Cause, f64> = BTreeMap::new();
    let mut add = |cause: Cause, likelihood: f64| {
        if seen.iter().all(|parts| cause.acts_with(*parts)) {
            *found.entry(cause).or_default() += likelihood;
        }
    };
    add(Cause::NONE, NONE);
    let one = 1.0 - NONE - PAIR - TRIPLE - EITHER - PART_OR_PAIR - MORE;
    let of_size = |size: usize| match size {
        1 => one,
        2 => PAIR,
        3 => TRIPLE,
        _ => MORE * 0.25_f64.powi(i32::try_from(size - 4).unwrap_or(i32::MAX)),
    };
    let mut together = |set: &[usize]| {
        let product: f64 = set.iter().map(|at| share[*at]).product();
        let sum = sums.get(set.len()).copied().unwrap_or(0.0);
        let parts: Parts = set.iter().fold(0, |parts, at| parts | 1 << at);
        if sum > 0.0 {
            add(Cause::together(parts & free), of_size(set.len()) * product / sum);
        }
    };
    if within.len() <= EVERY_SET {
        for choice in 1_u32..1 << within.len() {
            let set: Vec<usize> =
                within.iter().enumerate().filter(|(at, _)| choice >> at & 1 == 1).map(|it| *it.1).collect();
            together(&set);
        }
    } else {
        for (place, a) in within.iter().enumerate() {
            together(&[*a]);
            for (before, b) in within.iter().enumerate().take(place) {
                together(&[*a, *b]);
                if choose(within.len(), 3) <= MOST_OF_A_KIND {
                    within.iter().take(before).for_each(|c| together(&[*a, *b, *c]));
                }
            }
        }
        together(&within);
    }
    for a in 0..count {
        for b in 0..a {
            let pair = share[a] * share[b] / sums[2];
            let (a_alone, b_alone): (Parts, Parts) = (1 << a & free, 1 << b & free);
            add(Cause::either(a_alone, b_alone), EITHER * pair);
            if count * choose(count, 2) <= MOST_OF_A_KIND {
                for c in (0..count).filter(|c| *c != a && *c != b) {
                    let alone: Parts = 1 << c & free;
                    add(Cause::either(alone, a_alone | b_alone), PART_OR_PAIR * pair * share[c]);
                }
            }
        }
    }
    found
}

fn choose(count: usize, of: usize) -> usize {
    (0..of).fold(1, |product, at| product * count.saturating_sub(at) / (at + 1))
}

/// For each size the sum of the products of all sets of that many shares.
fn sums_of_products(shares: &[f64]) -> Vec<f64> {
    let mut sums = vec![0.0; shares.len().max(3) + 1];
    sums[0] = 1.0;
    for share in shares {
        for size in (1..sums.len()).rev() {
            sums[size] += sums[size - 1] * share;
        }
    }
    sums
}
