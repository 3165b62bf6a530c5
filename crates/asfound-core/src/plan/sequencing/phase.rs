//! Orders the writes of one phase: everything that is not restricted, or everything that is.

use std::collections::{BTreeSet, VecDeque};

use super::constraint::{Constraint, ties};
use super::precedence::{components, groups};
use super::rule_part::Part;
use super::search::{Search, SearchOutcome, SearchWrite};
use super::single::single;
use super::writable::{PossibleContents, WANTED, Writable};
use crate::names::SettingPath;
use crate::plan::rules::RuleBook;

/// The writes of one phase, with every other setting as the book has it.
pub(super) struct Phase<'p> {
    pub(super) writables: &'p [Writable<'p>],
    pub(super) parts: &'p [Part<'p>],
    pub(super) book: &'p RuleBook<'p>,
}

/// The writes of a phase, in order, with what each writable may hold on the way.
pub(super) struct OrderedWrites {
    pub(super) writes: Vec<SearchWrite>,
    pub(super) contents: Vec<PossibleContents>,
    /// Those that are written several times or for a time only, each with the rules that ask for it.
    pub(super) split_writes: Vec<(usize, BTreeSet<usize>)>,
}

/// Writables that cannot be brought to what is wanted, and the ties among them.
pub(super) struct Deadlock {
    pub(super) members: Vec<usize>,
    pub(super) contents: Vec<PossibleContents>,
    pub(super) ties: Vec<Constraint>,
    /// Whether a search ended at its bound rather than at certainty.
    pub(super) bounded: bool,
}

impl Phase<'_> {
    /// The order with the fewest writes.
    ///
    /// Writables are put into groups by which must come before which; almost always each group is one writable. A group
    /// of several is ordered for itself. Only where one has no order of single writes are contents between found and
    /// wanted looked at.
    pub(super) fn order(&self) -> Result<OrderedWrites, Deadlock> {
        let contents: Vec<PossibleContents> = self.writables.iter().map(PossibleContents::single).collect();
        let ties = ties(self.writables, &contents, self.parts, self.book);
        if let Some(tie) = ties.iter().find(|tie| tie.falling().next().is_none()) {
            // What would keep the rule comes only after this phase.
            let members = tie.writables.iter().map(|(writable, _)| *writable).collect();
            return Err(Deadlock { members, contents, ties: vec![tie.clone()], bounded: false });
        }
        let wanted: Vec<usize> = (0..self.writables.len()).filter(|at| !self.writables[*at].spare).collect();
        let mut writes = Vec::new();
        for group in groups(&wanted, &ties) {
            match single(&group, &ties, &contents) {
                SearchOutcome::Way(way) => writes.extend(way),
                SearchOutcome::None => return self.untie(&ties, &contents),
                SearchOutcome::Bound => return Err(Deadlock { members: group, contents, ties, bounded: true }),
            }
        }
        Ok(OrderedWrites { writes, contents, split_writes: Vec::new() })
    }

    /// The order where some group has none of single writes.
    fn untie(
        &self,
        single_ties: &[Constraint],
        single_contents: &[PossibleContents],
    ) -> Result<OrderedWrites, Deadlock> {
        let told = self.told();
        let contents: Vec<PossibleContents> =
            self.writables.iter().map(|it| PossibleContents::between(it, &told)).collect();
        let ties = ties(self.writables, &contents, self.parts, self.book);
        let untying = WriteSplitter { contents: &contents, ties: &ties, single_contents, single_ties, phase: self };
        let mut orders = Vec::new();
        let mut split_writes = Vec::new();
        for component in components(self.writables.len(), &ties) {
            match untying.component(&component, &mut split_writes) {
                Ok(order) => orders.push(order),
                Err((members, bounded)) => {
                    return Err(Deadlock { members, contents, ties, bounded });
                }
            }
        }
        Ok(OrderedWrites { writes: merged(orders), contents, split_writes })
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

struct WriteSplitter<'u> {
    contents: &'u [PossibleContents],
    ties: &'u [Constraint],
    single_contents: &'u [PossibleContents],
    single_ties: &'u [Constraint],
    phase: &'u Phase<'u>,
}

impl WriteSplitter<'_> {
    /// Orders writables to which no tie reaches from outside; the error is those that cannot be ordered, and whether
    /// that is not certain.
    ///
    /// Group after group, each knotted one with all others held as they are. That keeps every tie. It needs the fewest
    /// writes if no group would need fewer without the ties that reach further, because any plan for all of them is also
    /// one for the group alone. Otherwise all are looked at together.
    fn component(
        &self,
        members: &[usize],
        split_writes: &mut Vec<(usize, BTreeSet<usize>)>,
    ) -> Result<Vec<SearchWrite>, (Vec<usize>, bool)> {
        let wanted: Vec<usize> = members.iter().copied().filter(|at| !self.phase.writables[*at].spare).collect();
        let mut held: Vec<u8> = self.contents.iter().map(|contents| contents.start).collect();
        let (mut order, mut fewest, mut knots) = (Some(Vec::new()), true, Vec::new());
        for group in groups(&wanted, self.single_ties) {
            let found = match single(&group, self.single_ties, self.single_contents) {
                SearchOutcome::Way(way) => Some(way),
                SearchOutcome::Bound => return Err((group, true)),
                SearchOutcome::None => {
                    let alone = Search::new(&group, self.contents, self.ties, None).run();
                    let among = Search::new(&group, self.contents, self.ties, Some(&held)).run();
                    knots.push((group.clone(), self.rules(&group)));
                    match (alone, among) {
                        (SearchOutcome::None, _) => return Err((group, false)),
                        (SearchOutcome::Way(least), SearchOutcome::Way(way)) => {
                            fewest &= way.len() == least.len();
                            Some(way)
                        }
                        (SearchOutcome::Bound, SearchOutcome::Way(way)) => {
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
            self.note(&knots, order, split_writes);
            return Ok(order.clone());
        }
        let all: BTreeSet<usize> = self.rules(members);
        match (Search::new(members, self.contents, self.ties, None).run(), order) {
            (SearchOutcome::Way(way), _) => {
                self.note(&[(members.to_vec(), all)], &way, split_writes);
                Ok(way)
            }
            // More writes than needed perhaps, but every one of them is safe.
            (SearchOutcome::Bound, Some(order)) => {
                self.note(&knots, &order, split_writes);
                Ok(order)
            }
            (outcome, _) => Err((members.to_vec(), outcome == SearchOutcome::Bound)),
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
        order: &[SearchWrite],
        split_writes: &mut Vec<(usize, BTreeSet<usize>)>,
    ) {
        for write in order.iter().filter(|write| write.content != WANTED) {
            let cycle = knots.iter().find(|(members, _)| members.contains(&write.writable));
            if let Some((_, rules)) =
                cycle.filter(|_| split_writes.iter().all(|(writable, _)| *writable != write.writable))
            {
                let looking = self.ties.iter().filter(|tie| tie.writables.iter().any(|(it, _)| *it == write.writable));
                let looking: BTreeSet<usize> =
                    looking.map(|tie| tie.rule).filter(|rule| rules.contains(rule)).collect();
                split_writes.push((write.writable, looking));
            }
        }
    }
}

/// Merges orders between which there is no tie, so that where there is a choice the first writable goes first.
fn merged(orders: Vec<Vec<SearchWrite>>) -> Vec<SearchWrite> {
    let mut orders: Vec<VecDeque<SearchWrite>> = orders.into_iter().map(VecDeque::from).collect();
    let next = |orders: &mut Vec<VecDeque<SearchWrite>>| {
        let open = orders.iter_mut().filter(|order| !order.is_empty());
        open.min_by_key(|order| order[0].writable)?.pop_front()
    };
    std::iter::from_fn(|| next(&mut orders)).collect()
}
