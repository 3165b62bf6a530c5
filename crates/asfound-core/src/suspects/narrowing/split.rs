//! Sets of parts that split what is left into halves of equal likelihood.

use std::collections::BTreeMap;

use super::{Cause, Narrowing, Parts};

/// Up to how many free parts every set is looked at.
const ALL_SETS: u32 = 10;

/// Up to how many free parts two are exchanged on the way to an even split: for more it takes too long.
const EXCHANGED: usize = 32;

/// How many of the most even splits are weighed further.
const KEPT: usize = 24;

/// How much of the likelihood may be left out of account, so that the many causes which are hardly possible cost no time.
const LEFT_OUT: f64 = 0.002;

/// The most causes that are taken into account.
const ACCOUNTED: usize = 4_000;

/// The causes that are taken into account, with their likelihoods.
struct LikelyCauses<'n>(&'n [(Cause, f64)]);

impl<'n> LikelyCauses<'n> {
    fn of(narrowing: &'n Narrowing) -> Self {
        let mut sum = 0.0;
        let enough = |(_, likelihood): &(Cause, f64)| {
            sum += likelihood;
            sum >= 1.0 - LEFT_OUT
        };
        let count = narrowing.causes.iter().position(enough).map_or(narrowing.causes.len(), |at| at + 1);
        Self(&narrowing.causes[..count.min(ACCOUNTED)])
    }

    fn sign_with(&self, parts_in: Parts) -> f64 {
        self.0.iter().filter(|(cause, _)| cause.acts_with(parts_in)).map(|(_, likelihood)| likelihood).sum()
    }

    fn likelihood(&self, part: usize) -> f64 {
        self.0.iter().filter(|(cause, _)| cause.parts() >> part & 1 == 1).map(|(_, likelihood)| likelihood).sum()
    }
}

/// The best sets of parts to have in, best first.
///
/// The most even splits are found first; among them the one counts as best after which the fewest rounds are needed at
/// least, which Huffman's code for the two halves tells.
pub(super) fn best(narrowing: &Narrowing, now: Parts) -> Vec<Parts> {
    let likely = &LikelyCauses::of(narrowing);
    let named: Parts = likely.0.iter().fold(0, |parts, (cause, _)| parts | cause.parts());
    let free: Vec<usize> = (0..narrowing.weights.len()).filter(|part| named >> part & 1 == 1).collect();
    let mut found: BTreeMap<Parts, f64> = BTreeMap::new();
    if free.len() <= ALL_SETS as usize {
        for choice in 0..1u32 << free.len() {
            let set = free
                .iter()
                .enumerate()
                .filter(|(at, _)| choice >> at & 1 == 1)
                .fold(0, |set, (_, part)| set | 1 << part);
            found.insert(set, likely.sign_with(set));
        }
    } else {
        for turn in 0..free.len().min(12) {
            climb(likely, &free, turn, &mut found);
        }
    }
    // What no cause is about may stay as it is.
    let about: Parts = free.iter().fold(0, |set, part| set | 1 << part);
    let rest = now & !about;
    let mut sets: Vec<(Parts, f64)> =
        found.into_iter().filter(|(_, there)| *there > 1e-3 && *there < 1.0 - 1e-3).collect();
    let evenness = |there: f64| (there - 0.5).abs();
    sets.sort_by(|a, b| evenness(a.1).total_cmp(&evenness(b.1)));
    sets.truncate(KEPT);
    let mut weighed: Vec<(f64, u32, Parts)> = sets
        .into_iter()
        .map(|(set, there)| {
            let needed = there * huffman(likely, set, true) + (1.0 - there) * huffman(likely, set, false);
            // To nine places, so that equally good sets are equal.
            ((needed * 1e9).round(), ((set ^ now) & about).count_ones(), set | rest)
        })
        .collect();
    weighed.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    weighed.into_iter().map(|(_, _, set)| set).collect()
}

/// Goes from a set towards an even split, part by part, and notes every set on the way.
fn climb(likely: &LikelyCauses<'_>, free: &[usize], turn: usize, found: &mut BTreeMap<Parts, f64>) {
    let mut look = |set: Parts| *found.entry(set).or_insert_with(|| likely.sign_with(set));
    // A start: parts one after the other from a place of their order on, until the sign is likely enough.
    let mut order: Vec<usize> = free.to_vec();
    let weights: Vec<f64> = free.iter().map(|part| likely.likelihood(*part)).collect();
    let weight = |part: &usize| free.iter().position(|it| it == part).map_or(0.0, |at| weights[at]);
    order.sort_by(|a, b| weight(b).total_cmp(&weight(a)).then(a.cmp(b)));
    order.rotate_left(turn);
    if turn % 2 == 1 {
        order.reverse();
    }
    let mut set: Parts = 0;
    for part in order {
        set |= 1 << part;
        if look(set) >= 0.5 {
            break;
        }
    }
    loop {
        let from = (look(set) - 0.5).abs();
        let singles = free.iter().map(|part| set ^ 1 << part);
        let exchanged = if free.len() <= EXCHANGED { free } else { &[] };
        let swaps = exchanged.iter().flat_map(|a| free.iter().map(move |b| (*a, *b)));
        let swaps = swaps.filter(|(a, b)| set >> a & 1 == 1 && set >> b & 1 == 0).map(|(a, b)| set ^ 1 << a ^ 1 << b);
        let next: Vec<Parts> = singles.chain(swaps).collect();
        let best = next.into_iter().map(|set| ((look(set) - 0.5).abs(), set)).min_by(|a, b| a.0.total_cmp(&b.0));
        match best {
            Some((evenness, better)) if evenness + 1e-12 < from => set = better,
            _ => return,
        }
    }
}

/// The mean length of Huffman's code for the causes that are left after a round: no way of asking needs fewer rounds.
fn huffman(likely: &LikelyCauses<'_>, parts_in: Parts, sign: bool) -> f64 {
    let left = likely.0.iter().filter(|(cause, _)| cause.acts_with(parts_in) == sign);
    let mut weights: Vec<f64> = left.map(|(_, likelihood)| *likelihood).collect();
    let total: f64 = weights.iter().sum();
    if weights.len() < 2 || total <= 0.0 {
        return 0.0;
    }
    weights.sort_by(f64::total_cmp);
    // Two queues: the sorted leaves and the joined ones, which come out in rising order.
    let (mut leaves, mut joined) = (weights.into_iter().peekable(), std::collections::VecDeque::new());
    let mut length = 0.0;
    loop {
        let mut take = || match (leaves.peek().copied(), joined.front().copied()) {
            (Some(leaf), Some(join)) if leaf <= join => leaves.next(),
            (Some(_), None) => leaves.next(),
            (_, Some(_)) => joined.pop_front(),
            (None, None) => None,
        };
        let (Some(a), second) = (take(), take()) else { return length / total };
        let Some(b) = second else { return length / total };
        length += a + b;
        joined.push_back(a + b);
    }
}
