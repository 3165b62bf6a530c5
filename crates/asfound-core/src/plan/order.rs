//! Finds an order of the steps in which no write breaks a rule that held before it.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::ops::Range;

use super::refusal::Knot;
use super::rules::RuleBook;
use super::step::Step;
use crate::definition::Verdict;
use crate::names::SettingPath;
use crate::safety::SafetyClass;
use crate::value::Value;

/// How many sets of steps that rules tie together are looked at before the search gives up.
const BOUND: usize = 50_000;

/// Orders the steps: restricted ones last, each after all others; among the rest the first order,
/// by module and record, in which every rule that held before a write holds after it.
///
/// # Errors
/// The knot, when every order breaks a rule on the way or the search reaches its bound.
pub(super) fn order(mut steps: Vec<Step>, book: &RuleBook<'_>) -> Result<Vec<Step>, Knot> {
    steps.sort_by_key(|step| (step.class == SafetyClass::Restricted, step.module.clone()));
    let routine = steps.iter().filter(|step| step.class != SafetyClass::Restricted).count();
    let mut book = book.clone();
    let mut chosen = Vec::new();
    for phase in [0..routine, routine..steps.len()] {
        let tied = tied_together(&steps, phase.clone(), &book);
        let orders = tied.into_iter().map(|tied| Search::of(&steps, tied, &book).run());
        chosen.extend(merged(orders.collect::<Result<_, _>>()?));
        steps[phase].iter().for_each(|step| made(&mut book, step));
    }
    let mut steps: Vec<Option<Step>> = steps.into_iter().map(Some).collect();
    Ok(chosen.into_iter().filter_map(|at| steps[at].take()).collect())
}

/// Steps that rules tie together, in groups: steps of two groups cannot break a rule between them, in whatever order they
/// are made.
fn tied_together(steps: &[Step], phase: Range<usize>, book: &RuleBook<'_>) -> Vec<Vec<usize>> {
    let mut groups: Vec<(Vec<usize>, BTreeSet<usize>)> = Vec::new();
    for at in phase {
        let (mut members, mut rules) = (vec![at], rules_about(&steps[at], book));
        while let Some(other) = groups.iter().position(|(_, theirs)| !theirs.is_disjoint(&rules)) {
            let (theirs, their_rules) = groups.remove(other);
            members.extend(theirs);
            rules.extend(their_rules);
        }
        members.sort_unstable();
        groups.push((members, rules));
    }
    groups.into_iter().map(|(members, _)| members).collect()
}

/// The rules that look at what a step alters.
fn rules_about(step: &Step, book: &RuleBook<'_>) -> BTreeSet<usize> {
    let paths: BTreeSet<SettingPath> = values_of(step).map(|(path, _)| path).collect();
    (0..book.len()).filter(|rule| book.settings(*rule).iter().any(|path| paths.contains(*path))).collect()
}

/// Merges orders that do not depend on each other into the first one by module and record.
fn merged(orders: Vec<Vec<usize>>) -> Vec<usize> {
    let mut orders: Vec<VecDeque<usize>> = orders.into_iter().map(VecDeque::from).collect();
    let next = |orders: &mut Vec<VecDeque<usize>>| {
        orders.iter_mut().filter(|order| !order.is_empty()).min_by_key(|order| order[0])?.pop_front()
    };
    std::iter::from_fn(|| next(&mut orders)).collect()
}

/// The search for an order of steps that rules tie together.
struct Search<'s> {
    book: &'s RuleBook<'s>,
    tied: Vec<usize>,
    /// For each of the steps, the rules that look at what it alters.
    rules: Vec<BTreeSet<usize>>,
    /// For each value that a step brings about, which of the steps does.
    values: BTreeMap<SettingPath, (usize, Option<Value>)>,
    /// Sets of steps from which no way on was found. What a set leads to depends on the set alone,
    /// because every value is determined by which steps were made.
    seen: BTreeSet<Vec<bool>>,
    chosen: Vec<usize>,
    broken: BTreeSet<usize>,
}

impl<'s> Search<'s> {
    fn of(steps: &[Step], tied: Vec<usize>, book: &'s RuleBook<'s>) -> Self {
        let rules = tied.iter().map(|at| rules_about(&steps[*at], book)).collect();
        let values = tied
            .iter()
            .enumerate()
            .flat_map(|(place, at)| values_of(&steps[*at]).map(move |(path, value)| (path, (place, value))))
            .collect();
        Self { book, tied, rules, values, seen: BTreeSet::new(), chosen: Vec::new(), broken: BTreeSet::new() }
    }

    fn run(mut self) -> Result<Vec<usize>, Knot> {
        let mut made = vec![false; self.tied.len()];
        if self.go(&mut made) {
            return Ok(self.chosen.into_iter().map(|place| self.tied[place]).collect());
        }
        let rules = self.broken.iter().map(|rule| self.book.name(*rule).clone()).collect();
        Err(Knot { rules, bounded: self.seen.len() >= BOUND })
    }

    fn go(&mut self, made: &mut Vec<bool>) -> bool {
        if self.chosen.len() == self.tied.len() {
            return true;
        }
        if self.seen.len() >= BOUND || !self.seen.insert(made.clone()) {
            return false;
        }
        for place in 0..self.tied.len() {
            if made[place] {
                continue;
            }
            let before = self.verdicts(place, made);
            made[place] = true;
            let after = self.verdicts(place, made);
            let broken = newly_broken(&before, &after);
            if broken.is_empty() {
                self.chosen.push(place);
                if self.go(made) {
                    return true;
                }
                self.chosen.pop();
            } else {
                let rules: Vec<usize> = self.rules[place].iter().copied().collect();
                self.broken.extend(broken.into_iter().map(|at| rules[at]));
            }
            made[place] = false;
        }
        false
    }

    /// What the rules that a step touches say once some of the steps are made.
    fn verdicts(&self, place: usize, made: &[bool]) -> Vec<Verdict> {
        let value = |path: &SettingPath| match self.values.get(path) {
            Some((by, value)) if made[*by] => value.clone(),
            _ => self.book.value(path).cloned(),
        };
        self.rules[place].iter().map(|rule| self.book.evaluate(*rule, value)).collect()
    }
}

/// The values that a step brings about.
fn values_of(step: &Step) -> impl Iterator<Item = (SettingPath, Option<Value>)> {
    step.settings.iter().map(|setting| {
        let path = SettingPath { module: step.module.clone(), setting: setting.setting.clone() };
        (path, RuleBook::value_in(&setting.left))
    })
}

/// Takes on what a step brings about.
pub(super) fn made(book: &mut RuleBook<'_>, step: &Step) {
    for (path, value) in values_of(step) {
        book.set(&path, value);
    }
}

/// The places of rules that are broken now and were not before.
pub(super) fn newly_broken(before: &[Verdict], after: &[Verdict]) -> Vec<usize> {
    let pairs = before.iter().zip(after).enumerate();
    pairs.filter(|(_, (b, a))| **a == Verdict::Fails && **b != Verdict::Fails).map(|(at, _)| at).collect()
}
