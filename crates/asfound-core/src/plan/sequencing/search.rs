//! The shortest way from what is found to what is wanted that breaks no tie.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

use super::constraint::Constraint;
use super::writable::{PossibleContents, WANTED};

/// How many contents of all records together one search looks at before it gives up.
pub(super) const BOUND: usize = 50_000;

/// One write: which writable, and which of its contents it leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct SearchWrite {
    pub(super) writable: usize,
    pub(super) content: u8,
}

/// What a search came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum SearchOutcome {
    /// The shortest way; of those of one length, one with the fewest values that were neither found nor are wanted.
    Way(Vec<SearchWrite>),
    /// There is none.
    None,
    /// None was found when the search reached its bound.
    Bound,
}

/// A tie among the members of a search.
struct BoundConstraint<'t> {
    /// Places among the members, and which contents meet the conditions.
    members: Vec<(usize, &'t [bool])>,
}

/// A search over the contents of some writables.
pub(super) struct Search<'s> {
    members: &'s [usize],
    contents: &'s [PossibleContents],
    ties: Vec<BoundConstraint<'s>>,
    /// For each member, the ties that look at it.
    of_member: Vec<Vec<usize>>,
    bound: usize,
}

/// A moment on the way: what each member holds, and how it came about.
struct SearchState {
    held: Vec<u8>,
    before: Option<usize>,
    made: SearchWrite,
}

impl<'s> Search<'s> {
    /// A search that keeps those of the ties that lie whole among the members; with `others`, which says what every
    /// writable holds meanwhile, also those that reach further.
    pub(super) fn new<'t: 's>(
        members: &'s [usize],
        contents: &'s [PossibleContents],
        ties: impl IntoIterator<Item = &'t Constraint>,
        others: Option<&[u8]>,
    ) -> Self {
        let place = |writable: &usize| members.iter().position(|member| member == writable);
        let bind = |tie: &'t Constraint| {
            let mut bound = Vec::new();
            for (writable, met) in &tie.writables {
                match (place(writable), others) {
                    (Some(place), _) => bound.push((place, &met[..])),
                    (None, Some(others)) if met[usize::from(others[*writable])] => {}
                    (None, _) => return None,
                }
            }
            (!bound.is_empty()).then_some(BoundConstraint { members: bound })
        };
        let ties: Vec<BoundConstraint<'s>> = ties.into_iter().filter_map(bind).collect();
        let looks =
            |place: usize| (0..ties.len()).filter(|at| ties[*at].members.iter().any(|(it, _)| *it == place)).collect();
        let of_member = (0..members.len()).map(looks).collect();
        Self { members, contents, ties, of_member, bound: BOUND }
    }

    /// The same search with another bound.
    pub(super) fn bounded_by(self, bound: usize) -> Self {
        Self { bound, ..self }
    }

    /// Looks for the way. Each write counts one, and as many writes as there are members not yet as wanted are needed at
    /// least, which leads the search (A*); of equally good moments the one that is further on goes first.
    pub(super) fn run(&self) -> SearchOutcome {
        let start: Vec<u8> = self.members.iter().map(|member| self.contents[*member].start).collect();
        let missing = |held: &[u8]| held.iter().filter(|content| **content != WANTED).count();
        let nothing = SearchWrite { writable: usize::MAX, content: WANTED };
        let mut best: HashMap<Vec<u8>, (usize, usize)> = HashMap::from([(start.clone(), (0, 0))]);
        let mut open = BinaryHeap::from([Reverse((missing(&start), 0, Reverse(0), 0))]);
        let mut moments = vec![SearchState { held: start, before: None, made: nothing }];
        while let Some(Reverse((_, invented, Reverse(writes), at))) = open.pop() {
            let held = moments[at].held.clone();
            if best.get(&held) != Some(&(writes, invented)) {
                continue;
            }
            if missing(&held) == 0 {
                return SearchOutcome::Way(way(&moments, at));
            }
            for (place, content) in self.next(&held) {
                let mut next = held.clone();
                next[place] = content;
                if self.broken(place, &next) {
                    continue;
                }
                let contents = &self.contents[self.members[place]];
                let cost = (writes + 1, invented + usize::from(contents.invents(content)));
                if best.get(&next).is_some_and(|known| *known <= cost) {
                    continue;
                }
                if moments.len() >= self.bound {
                    return SearchOutcome::Bound;
                }
                best.insert(next.clone(), cost);
                open.push(Reverse((cost.0 + missing(&next), cost.1, Reverse(cost.0), moments.len())));
                let made = SearchWrite { writable: self.members[place], content };
                moments.push(SearchState { held: next, before: Some(at), made });
            }
        }
        if self.members.iter().any(|member| self.contents[*member].cut) {
            SearchOutcome::Bound
        } else {
            SearchOutcome::None
        }
    }

    /// The writes that are possible at a moment: the place of the member, and what it leaves.
    fn next(&self, held: &[u8]) -> impl Iterator<Item = (usize, u8)> {
        let ways = held.iter().enumerate().map(|(place, content)| {
            let contents = &self.contents[self.members[place]];
            let all = 0..=u8::try_from(contents.list.len() - 1).unwrap_or(u8::MAX);
            // What starts as wanted is written only to something else and back.
            let least = if contents.start == WANTED { WANTED } else { 0 };
            let content = *content;
            all.filter(move |other| *other != content && *other >= least).map(move |other| (place, other))
        });
        ways.flatten().collect::<Vec<_>>().into_iter()
    }

    fn broken(&self, place: usize, held: &[u8]) -> bool {
        let broken = |tie: &BoundConstraint<'_>| tie.members.iter().all(|(place, met)| met[usize::from(held[*place])]);
        self.of_member[place].iter().any(|tie| broken(&self.ties[*tie]))
    }
}

fn way(moments: &[SearchState], end: usize) -> Vec<SearchWrite> {
    let back = std::iter::successors(Some(end), |at| moments[*at].before);
    let mut way: Vec<SearchWrite> =
        back.filter(|at| moments[*at].before.is_some()).map(|at| moments[at].made).collect();
    way.reverse();
    way
}
