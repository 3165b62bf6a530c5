//! An order of single writes among writables that ties hold in a circle.

use super::constraint::Constraint;
use super::search::{Search, SearchOutcome, SearchWrite};
use super::writable::{PossibleContents, WANTED};

/// The order of single writes that keeps the ties which lie whole among the members.
///
/// Where every tie has one rising writable, that one waits for any one of the falling ones; what may be written stays
/// so, and taking whatever may be written next finds an order whenever there is one. Where every tie has one falling
/// writable, the same is true from the end backwards. Both are tried first, with the ties to which they apply: where one
/// of them gets stuck there is no order. Only ties with several of either leave something to search.
pub(super) fn single(members: &[usize], ties: &[Constraint], contents: &[PossibleContents]) -> SearchOutcome {
    if let [only] = members {
        return SearchOutcome::Way(written(vec![*only]));
    }
    let within: Vec<&Constraint> = ties.iter().filter(|tie| tie.within(members)).collect();
    let (mut one_rises, mut one_falls) = (Vec::new(), Vec::new());
    for tie in &within {
        let (rising, falling): (Vec<usize>, Vec<usize>) = (tie.rising().collect(), tie.falling().collect());
        if let [one] = rising[..] {
            one_rises.push((one, falling.clone()));
        }
        if let [one] = falling[..] {
            one_falls.push((one, rising));
        }
    }
    let Some(forward) = taking(members.iter().copied(), &one_rises) else { return SearchOutcome::None };
    let Some(mut backward) = taking(members.iter().rev().copied(), &one_falls) else { return SearchOutcome::None };
    if one_rises.len() == within.len() {
        return SearchOutcome::Way(written(forward));
    }
    if one_falls.len() == within.len() {
        backward.reverse();
        return SearchOutcome::Way(written(backward));
    }
    Search::new(members, contents, within, None).run()
}

fn written(order: Vec<usize>) -> Vec<SearchWrite> {
    order.into_iter().map(|writable| SearchWrite { writable, content: WANTED }).collect()
}

/// Takes the first member that waits for nothing, again and again; a member waits for any one of those in each of its lists.
fn taking(members: impl Iterator<Item = usize>, waits: &[(usize, Vec<usize>)]) -> Option<Vec<usize>> {
    let mut left: Vec<usize> = members.collect();
    let mut taken: Vec<usize> = Vec::with_capacity(left.len());
    while !left.is_empty() {
        let free = |member: &usize| {
            let mut lists = waits.iter().filter(|(waiting, _)| waiting == member);
            lists.all(|(_, list)| list.iter().any(|other| taken.contains(other)))
        };
        let at = left.iter().position(free)?;
        taken.push(left.remove(at));
    }
    Some(taken)
}
