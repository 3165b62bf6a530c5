//! Orders the writes of one phase: everything that is not restricted, or everything that is.

use std::collections::{BTreeSet, VecDeque};

use super::part::Part;
use super::precedence::{components, groups};
use super::search::{Outcome, Search, Written};
use super::single::single;
use super::tie::{Tie, ties};
use super::writable::{Contents, WANTED, Writable};
use crate::names::SettingPath;
use crate::plan::rules::RuleBook;

/// The writes of one phase, with every other setting as the book has it.
pub(super) struct Phase<'p> {
    pub(super) writables: &'p [Writable<'p>],
    pub(super) parts: &'p [Part<'p>],
    pub(super) book: &'p RuleBook<'p>,
}

/// The writes of a phase, in order, with what each writable may hold on the way.
pub(super) struct Ordered {
    pub(super) writes: Vec<Written>,
    pub(super) contents: Vec<Contents>,
    /// Those that are written several times or for a time only, each with the rules that ask for it.
    pub(super) untied: Vec<(usize, BTreeSet<usize>)>,
}

/// Writables that cannot be brought to what is wanted, and the ties among them.
pub(super) struct Tangle {
    pub(super) members: Vec<usize>,
    pub(super) contents: Vec<Contents>,
    pub(super) ties: Vec<Tie>,
    /// Whether a search ended at its bound rather than at certainty.
    pub(super) bounded: bool,
}

impl Phase<'_> {
    /// The order with the fewest writes.
    ///
    /// Writables are put into groups by which must come before which; almost always each group is one writable. A group
    /// of several is ordered for itself. Only where one has no order of single writes are contents between found and
    /// wanted looked at.
    pub(super) fn order(&self) -> Result<Ordered, Tangle> {
        let contents: Vec<Contents> = self.writables.iter().map(Contents::single).collect();
        let ties = ties(self.writables, &contents, self.parts, self.book);
        if let Some(tie) = ties.iter().find(|tie| tie.falling().next().is_none()) {
            // What would keep the rule comes only after this phase.
            let members = tie.writables.iter().map(|(writable, _)| *writable).collect();
            return Err(Tangle { members, contents, ties: vec![tie.clone()], bounded: false });
        }
        let wanted: Vec<usize> = (0..self.writables.len()).filter(|at| !self.writables[*at].spare).collect();
        let mut writes = Vec::new();
        for group in groups(&wanted, &ties) {
            match single(&group, &ties, &contents) {
                Outcome::Way(way) => writes.extend(way),
                Outcome::None => return self.untie(&ties, &contents),
                Outcome::Bound => return Err(Tangle { members: group, contents, ties, bounded: true }),
            }
        }
        Ok(Ordered { writes, contents, untied: Vec::new() })
    }

    /// The order where some group has none of single writes.
    fn untie(&self, single_ties: &[Tie], single_contents: &[Contents]) -> Result<Ordered, Tangle> {
        let told = self.told();
        let contents: Vec<Contents> = self.writables.iter().map(|it| Contents::between(it, &told)).collect();
        let ties = ties(self.writables, &contents, self.parts, self.book);
        let untying = Untying { contents: &contents, ties: &ties, single_contents, single_ties, phase: self };
        let mut orders = Vec::new();
        let mut untied = Vec::new();
        for component in components(self.writables.len(), &ties) {
            match untying.component(&component, &mut untied) {
                Ok(order) => orders.push(order),
                Err((members, bounded)) => {
                    return Err(Tangle { members, contents, ties, bounded });
                }
            }
        }
        Ok(Ordered { writes: merged(orders), contents, untied })
    }

    /// The settings that rules look at whose breaking depends on what is written.
    fn told(&self) -> BTreeSet<&SettingPath> {
        let written: BTreeSet<&SettingPath> =
            self.writables.iter().flat_map(|writable| writable.settings.iter().map(|setting| &setting.path)).collect();
        let open = self.parts.iter().filter(|part| {
            part.atoms.iter().all(|atom| written.contains(atom.setting) || atom.met(self.book.value(atom.setting)))
        });
        open.flat_map(|part| part.atoms.iter().map(|atom| atom.setting)).collect()
    }
}

struct Untying<'u> {
    contents: &'u [Contents],
    ties: &'u [Tie],
    single_contents: &'u [Contents],
    single_ties: &'u [Tie],
    phase: &'u Phase<'u>,
}

impl Untying<'_> {
    /// Orders writables to which no tie reaches from outside; the error is those that cannot be ordered, and whether
    /// that is not certain.
    ///
    /// Group after group, each knotted one with all others held as they are. That keeps every tie. It needs the fewest
    /// writes if no group would need fewer without the ties that reach further, because any plan for all of them is also
    /// one for the group alone. Otherwise all are looked at together.
    fn component(
        &self,
        members: &[usize],
        untied: &mut Vec<(usize, BTreeSet<usize>)>,
    ) -> Result<Vec<Written>, (Vec<usize>, bool)> {
        let wanted: Vec<usize> = members.iter().copied().filter(|at| !self.phase.writables[*at].spare).collect();
        let mut held: Vec<u8> = self.contents.iter().map(|contents| contents.start).collect();
        let (mut order, mut fewest, mut knots) = (Some(Vec::new()), true, Vec::new());
        for group in groups(&wanted, self.single_ties) {
            let found = match single(&group, self.single_ties, self.single_contents) {
                Outcome::Way(way) => Some(way),
                Outcome::Bound => return Err((group, true)),
                Outcome::None => {
                    let alone = Search::new(&group, self.contents, self.ties, None).run();
                    let among = Search::new(&group, self.contents, self.ties, Some(&held)).run();
                    knots.push((group.clone(), self.rules(&group)));
                    match (alone, among) {
                        (Outcome::None, _) => return Err((group, false)),
                        (Outcome::Way(least), Outcome::Way(way)) => {
                            fewest &= way.len() == least.len();
                            Some(way)
                        }
                        (Outcome::Bound, Outcome::Way(way)) => {
                            fewest = false;
                            Some(way)
                        }
                        _ => None,
                    }
                }
            };
            group.iter().for_each(|member| held[*member] = WANTED);
            order = order.zip(found).map(|(order, found)| [order, found].concat());
        }
        if let Some(order) = order.as_ref().filter(|_| fewest) {
            self.note(&knots, order, untied);
            return Ok(order.clone());
        }
        let all: BTreeSet<usize> = self.rules(members);
        match (Search::new(members, self.contents, self.ties, None).run(), order) {
            (Outcome::Way(way), _) => {
                self.note(&[(members.to_vec(), all)], &way, untied);
                Ok(way)
            }
            // More writes than needed perhaps, but every one of them is safe.
            (Outcome::Bound, Some(order)) => {
                self.note(&knots, &order, untied);
                Ok(order)
            }
            (outcome, _) => Err((members.to_vec(), outcome == Outcome::Bound)),
        }
    }

    /// The rules that tie some writables together.
    fn rules(&self, members: &[usize]) -> BTreeSet<usize> {
        let within = self.ties.iter().filter(|tie| tie.writables.len() > 1 && tie.within(members));
        within.map(|tie| tie.rule).collect()
    }

    /// Notes which writables are written to something in between, and for which rules.
    fn note(
        &self,
        knots: &[(Vec<usize>, BTreeSet<usize>)],
        order: &[Written],
        untied: &mut Vec<(usize, BTreeSet<usize>)>,
    ) {
        for write in order.iter().filter(|write| write.content != WANTED) {
            let knot = knots.iter().find(|(members, _)| members.contains(&write.writable));
            if let Some((_, rules)) = knot.filter(|_| untied.iter().all(|(writable, _)| *writable != write.writable)) {
                let looking = self.ties.iter().filter(|tie| tie.writables.iter().any(|(it, _)| *it == write.writable));
                let looking: BTreeSet<usize> =
                    looking.map(|tie| tie.rule).filter(|rule| rules.contains(rule)).collect();
                untied.push((write.writable, looking));
            }
        }
    }
}

/// Merges orders between which there is no tie, so that where there is a choice the first writable goes first.
fn merged(orders: Vec<Vec<Written>>) -> Vec<Written> {
    let mut orders: Vec<VecDeque<Written>> = orders.into_iter().map(VecDeque::from).collect();
    let next = |orders: &mut Vec<VecDeque<Written>>| {
        let open = orders.iter_mut().filter(|order| !order.is_empty());
        open.min_by_key(|order| order[0].writable)?.pop_front()
    };
    std::iter::from_fn(|| next(&mut orders)).collect()
}
