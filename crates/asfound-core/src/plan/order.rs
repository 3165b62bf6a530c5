//! Finds an order of the steps in which no write breaks a rule that held before it.

use std::collections::BTreeSet;

use super::refusal::Knot;
use super::rules::RuleBook;
use super::step::Step;
use crate::definition::Verdict;
use crate::names::SettingPath;
use crate::safety::SafetyClass;

/// How many partial orders are looked at before the search gives up.
const BOUND: usize = 200_000;

/// Orders the steps: restricted ones last, each after all others; among the rest the first order,
/// by module and record, in which every rule that held before a write holds after it.
///
/// # Errors
/// The knot, when every order breaks a rule on the way or the search reaches its bound.
pub(super) fn order(mut steps: Vec<Step>, book: &RuleBook<'_>) -> Result<Vec<Step>, Knot> {
    steps.sort_by_key(|step| (step.class == SafetyClass::Restricted, step.module.clone()));
    let routine = steps.iter().filter(|step| step.class != SafetyClass::Restricted).count();
    let mut search =
        Search { steps: &steps, routine, seen: BTreeSet::new(), chosen: Vec::new(), broken: BTreeSet::new() };
    let found = search.go(book);
    let (chosen, broken) = (search.chosen, search.broken);
    let bounded = search.seen.len() >= BOUND;
    if !found {
        return Err(Knot { rules: broken.iter().map(|at| book.name(*at).clone()).collect(), bounded });
    }
    let mut steps: Vec<Option<Step>> = steps.into_iter().map(Some).collect();
    Ok(chosen.into_iter().filter_map(|at| steps[at].take()).collect())
}

struct Search<'s> {
    steps: &'s [Step],
    /// The first so many steps are not restricted.
    routine: usize,
    /// Sets of steps from which no way on was found. What a set leads to depends on the set alone,
    /// because every value is determined by which steps were made.
    seen: BTreeSet<Vec<usize>>,
    chosen: Vec<usize>,
    broken: BTreeSet<usize>,
}

impl Search<'_> {
    fn go(&mut self, book: &RuleBook<'_>) -> bool {
        if self.chosen.len() == self.steps.len() {
            return true;
        }
        let mut key = self.chosen.clone();
        key.sort_unstable();
        if self.seen.len() >= BOUND || !self.seen.insert(key) {
            return false;
        }
        let before = book.verdicts();
        let open = if self.chosen.len() < self.routine { 0..self.routine } else { self.routine..self.steps.len() };
        for at in open.filter(|at| !self.chosen.contains(at)).collect::<Vec<_>>() {
            let mut after = book.clone();
            made(&mut after, &self.steps[at]);
            let broken = newly_broken(&before, &after.verdicts());
            if !broken.is_empty() {
                self.broken.extend(broken);
                continue;
            }
            self.chosen.push(at);
            if self.go(&after) {
                return true;
            }
            self.chosen.pop();
        }
        false
    }
}

/// Takes on what a step brings about.
pub(super) fn made(book: &mut RuleBook<'_>, step: &Step) {
    for setting in &step.settings {
        let path = SettingPath { module: step.module.clone(), setting: setting.setting.clone() };
        book.set(&path, setting.left.value().cloned());
    }
}

/// The places of rules that are broken now and were not before.
pub(super) fn newly_broken(before: &[Verdict], after: &[Verdict]) -> Vec<usize> {
    let pairs = before.iter().zip(after).enumerate();
    pairs.filter(|(_, (b, a))| **a == Verdict::Fails && **b != Verdict::Fails).map(|(at, _)| at).collect()
}
