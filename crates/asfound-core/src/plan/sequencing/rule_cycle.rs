//! Names a knot: the fewest rules that make it, and what could be allowed to untie it.

use std::collections::BTreeSet;

use super::StepContext;
use super::constraint::Constraint;
use super::phase::{Deadlock, Phase};
use super::rule_part::Part;
use super::search::{BOUND, Search, SearchOutcome};
use super::writable::{Writable, small_domain};
use crate::names::SettingPath;
use crate::plan::refusal::{Allowance, RuleCycle};
use crate::plan::rules::RuleBook;

/// How many settings are tried at most as something that could be altered for a time.
const MOST_TRIED: usize = 16;

/// The whole plan, of which a phase could not be ordered.
pub(super) struct WholePlan<'w> {
    pub(super) context: &'w StepContext<'w>,
    pub(super) parts: &'w [Part<'w>],
    /// All that is written, first what is not restricted.
    pub(super) writables: &'w [Writable<'w>],
    /// How many are not restricted.
    pub(super) unrestricted: usize,
    pub(super) before: &'w RuleBook<'w>,
}

impl WholePlan<'_> {
    /// Names the knot in a phase: of the first part of the plan, or of the restricted steps.
    pub(super) fn name(&self, phase: &Phase<'_>, deadlock: &Deadlock) -> RuleCycle {
        let ties = fewest(deadlock);
        let rules: BTreeSet<usize> = ties.iter().map(|tie| tie.rule).collect();
        let altered = self.altered();
        let settings = ties.iter().flat_map(|tie| &tie.settings).filter(|path| altered.contains(path));
        let settings: BTreeSet<SettingPath> = settings.cloned().collect();
        let mut allow = Vec::new();
        let mixed = (1..self.writables.len()).contains(&self.unrestricted);
        let whole = Phase { writables: self.writables, parts: self.parts, book: self.before };
        if mixed && whole.order().is_ok() {
            allow.push(Allowance::RestrictedByItself);
        }
        let set_aside_for = self.set_aside_for(phase, &rules);
        allow.extend(set_aside_for.into_iter().map(|setting| Allowance::AlterForATime { setting }));
        RuleCycle {
            rules: rules.iter().map(|rule| self.before.name(*rule).clone()).collect(),
            settings: settings.into_iter().collect(),
            bounded: deadlock.bounded,
            allow,
        }
    }

    fn altered(&self) -> BTreeSet<&SettingPath> {
        self.writables.iter().flat_map(|writable| writable.settings.iter().map(|setting| &setting.path)).collect()
    }

    /// Settings that the wish does not alter and that would make a plan possible if they might be altered for a time.
    /// Only the rules of the knot need be looked at: the others are kept as it is.
    fn set_aside_for(&self, phase: &Phase<'_>, rules: &BTreeSet<usize>) -> Vec<SettingPath> {
        let altered = self.altered();
        let looked_at = self.parts.iter().filter(|part| rules.contains(&part.rule));
        let looked_at: BTreeSet<&SettingPath> =
            looked_at.flat_map(|part| part.atoms.iter().map(|atom| atom.setting)).collect();
        let restricted = phase.writables.iter().any(|writable| writable.restricted);
        let candidates = looked_at.into_iter().filter(|path| !altered.contains(path));
        let unties = |path: &&SettingPath| {
            let mut writables = phase.writables.to_vec();
            let small = self.context.defined(path).is_some_and(|defined| small_domain(defined).len() > 1);
            small
                && self.context.spare(path, restricted, &mut writables)
                && Phase { writables: &writables, ..*phase }.order().is_ok()
        };
        candidates.take(MOST_TRIED).filter(unties).cloned().collect()
    }
}

/// The ties of the fewest rules that are a knot already: each rule is left out for good if there is a knot without it.
fn fewest(deadlock: &Deadlock) -> Vec<Constraint> {
    let mut ties: Vec<Constraint> = deadlock.ties.iter().filter(|tie| tie.within(&deadlock.members)).cloned().collect();
    let rules: BTreeSet<usize> = ties.iter().map(|tie| tie.rule).collect();
    if deadlock.bounded || rules.len() < 2 {
        return ties;
    }
    for rule in rules {
        let without: Vec<Constraint> = ties.iter().filter(|tie| tie.rule != rule).cloned().collect();
        let search = Search::new(&deadlock.members, &deadlock.contents, &without, None).bounded_by(BOUND / 4);
        if search.run() == SearchOutcome::None {
            ties = without;
        }
    }
    ties
}
