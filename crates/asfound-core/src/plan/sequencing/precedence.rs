//! Which write must come before which.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use petgraph::Direction;
use petgraph::algo::condensation;
use petgraph::graph::DiGraph;
use petgraph::unionfind::UnionFind;

use super::constraint::Constraint;

/// Groups of writables in an order that keeps every tie between two groups; ties that lie whole within one group are
/// left to be kept there. Where ties leave a choice, the group with the least member comes first.
///
/// A tie is broken once all its rising writables are written and none of its falling ones. It is kept if one falling
/// comes before one rising. An arrow from each falling to each rising one asks for more than that, but where
/// arrows run in a circle all of it is in one group, and a tie that is not whole in one group is kept by the arrow that
/// leaves it.
pub(super) fn groups(members: &[usize], ties: &[Constraint]) -> Vec<Vec<usize>> {
    let mut graph: DiGraph<usize, ()> = DiGraph::new();
    let nodes: Vec<_> = members.iter().map(|member| graph.add_node(*member)).collect();
    let node = |member: usize| members.binary_search(&member).ok().map(|at| nodes[at]);
    for tie in ties {
        for before in tie.falling().filter_map(node) {
            tie.rising().filter_map(node).for_each(|after| _ = graph.update_edge(before, after, ()));
        }
    }
    let groups = condensation(graph, true);
    let mut waits: Vec<usize> =
        groups.node_indices().map(|group| groups.edges_directed(group, Direction::Incoming).count()).collect();
    let least = |group| groups.node_weight(group).and_then(|members| members.iter().min());
    let free = groups.node_indices().filter(|group| waits[group.index()] == 0);
    let mut free: BinaryHeap<_> = free.map(|group| Reverse((least(group), group))).collect();
    let mut order = Vec::new();
    while let Some(Reverse((_, group))) = free.pop() {
        let mut members = groups[group].clone();
        members.sort_unstable();
        order.push(members);
        for after in groups.neighbors(group) {
            waits[after.index()] -= 1;
            if waits[after.index()] == 0 {
                free.push(Reverse((least(after), after)));
            }
        }
    }
    order
}

/// Writables that ties hold together, in sets between which there is no tie; each set sorted, the set with the least first.
pub(super) fn components(count: usize, ties: &[Constraint]) -> Vec<Vec<usize>> {
    let mut sets: UnionFind<usize> = UnionFind::new(count);
    for tie in ties {
        for pair in tie.writables.windows(2) {
            sets.union(pair[0].0, pair[1].0);
        }
    }
    let labels = sets.into_labeling();
    let mut components: std::collections::BTreeMap<usize, Vec<usize>> = std::collections::BTreeMap::new();
    (0..count).for_each(|at| components.entry(labels[at]).or_default().push(at));
    let mut components: Vec<Vec<usize>> = components.into_values().collect();
    components.sort();
    components
}
