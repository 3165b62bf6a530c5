//! Every order of writes, and every value on the way: what the planner is held against.
//!
//! Nothing of the planner or of the crate's rules is used here: codes are compared as numbers, and every content of all
//! records together is gone through, nearest first.

use super::cases::{Codes, Condition, Kind, Rule, Test, Vehicle};

/// What the exhaustive search found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// Nothing is to be written.
    Nothing,
    /// What is wanted breaks a rule that is kept now.
    BreaksRules,
    /// There is no order.
    NoOrder,
    /// So many writes at least, and among these so few that leave a value which is neither found nor wanted.
    Writes(usize, usize),
}

fn says(condition: Condition, codes: &Codes) -> Option<bool> {
    let code = codes[condition.0]?;
    Some(match condition.1 {
        Test::Is(other) => code == other,
        Test::IsNot(other) => code != other,
        Test::AtLeast(other) => code >= other,
        Test::Below(other) => code < other,
    })
}

/// In how many ways a rule is broken, and in which: a bit for each need that fails, or for each pair of groups.
fn breach(rule: &Rule, codes: &Codes) -> u64 {
    let holds = |conditions: &[Condition]| conditions.iter().all(|it| says(*it, codes) == Some(true));
    let mut ways = 0;
    match rule {
        Rule::Needs(when, needs) => {
            if holds(when) {
                for (at, need) in needs.iter().enumerate() {
                    ways |= u64::from(says(*need, codes) == Some(false)) << at;
                }
            }
        }
        Rule::Exclusive(groups) => {
            let mut at = 0;
            for (first, group) in groups.iter().enumerate() {
                for other in &groups[first + 1..] {
                    ways |= u64::from(holds(group) && holds(other)) << at;
                    at += 1;
                }
            }
        }
    }
    ways
}

/// Whether a rule is broken in a way in which it was not.
pub fn newly_broken(rule: &Rule, before: &Codes, now: &Codes) -> bool {
    breach(rule, now) & !breach(rule, before) != 0
}

pub fn safe(vehicle: &Vehicle, before: &Codes, now: &Codes) -> bool {
    vehicle.rules.iter().all(|(_, rule)| !newly_broken(rule, before, now))
}

/// What one write sets: a record, or one setting where a record is known by values alone.
pub fn writables(vehicle: &Vehicle, found: &Codes, wanted: &Codes, restricted: bool) -> Vec<Vec<usize>> {
    let mut all = Vec::new();
    for (record, (_, of_phase, by_name)) in vehicle.records.iter().enumerate() {
        let here = (0..found.len()).filter(|at| vehicle.settings[*at].record == record && found[*at] != wanted[*at]);
        let here: Vec<usize> = if *of_phase == restricted { here.collect() } else { Vec::new() };
        if *by_name {
            all.extend(here.into_iter().map(|at| vec![at]));
        } else if !here.is_empty() {
            all.push(here);
        }
    }
    all
}

/// Every content that one writable may hold: as found first, as wanted second.
fn contents(vehicle: &Vehicle, settings: &[usize], found: &Codes, wanted: &Codes) -> Vec<Vec<u8>> {
    let (first, last): (Vec<u8>, Vec<u8>) =
        settings.iter().map(|at| (found[*at].expect("known"), wanted[*at].expect("known"))).unzip();
    let mut all = vec![Vec::new()];
    for (place, at) in settings.iter().enumerate() {
        let kind = vehicle.settings[*at].kind;
        let few = kind != Kind::Quantity && kind.values() <= 8;
        let codes: Vec<u8> = if few { (0..kind.values()).collect() } else { vec![first[place], last[place]] };
        all = all.iter().flat_map(|held| codes.iter().map(move |code| [&held[..], &[*code]].concat())).collect();
    }
    all.retain(|held| *held != first && *held != last);
    [vec![first, last], all].concat()
}

/// How many contents all writables of a phase have together.
pub fn size(vehicle: &Vehicle, found: &Codes, wanted: &Codes, restricted: bool) -> usize {
    let writables = writables(vehicle, found, wanted, restricted);
    writables.iter().map(|settings| contents(vehicle, settings, found, wanted).len()).product()
}

/// Goes through everything that can be written.
pub fn answer(vehicle: &Vehicle, found: &Codes, wanted: &Codes) -> Answer {
    if found == wanted {
        return Answer::Nothing;
    }
    if !safe(vehicle, found, wanted) {
        return Answer::BreaksRules;
    }
    let (mut writes, mut invented) = (0, 0);
    let mut now = found.clone();
    for restricted in [false, true] {
        match phase(vehicle, found, &mut now, wanted, restricted) {
            Some((more, inventing)) => (writes, invented) = (writes + more, invented + inventing),
            None => return Answer::NoOrder,
        }
    }
    Answer::Writes(writes, invented)
}

fn phase(
    vehicle: &Vehicle,
    found: &Codes,
    now: &mut Codes,
    wanted: &Codes,
    restricted: bool,
) -> Option<(usize, usize)> {
    let writables = writables(vehicle, found, wanted, restricted);
    let contents: Vec<Vec<Vec<u8>>> = writables.iter().map(|it| contents(vehicle, it, found, wanted)).collect();
    let invents = |writable: usize, content: usize| {
        let held = contents[writable][content].iter().zip(&writables[writable]);
        usize::from(held.into_iter().any(|(code, at)| Some(*code) != found[*at] && Some(*code) != wanted[*at]))
    };
    // A number for each content of all writables together: content of the first + size of the first · (of the second + …).
    let size: usize = contents.iter().map(Vec::len).product();
    let goal = (0..contents.len()).rev().fold(0, |number, at| number * contents[at].len() + 1);
    let codes = |mut number: usize| {
        let mut codes = now.clone();
        for (settings, contents) in writables.iter().zip(&contents) {
            let held = &contents[number % contents.len()];
            number /= contents.len();
            settings.iter().zip(held).for_each(|(at, code)| codes[*at] = Some(*code));
        }
        codes
    };
    let mut safe_at: Vec<Option<bool>> = vec![None; size];
    let mut reached: Vec<Option<(usize, usize)>> = vec![None; size];
    reached[0] = Some((0, 0));
    let mut front = vec![0];
    let mut writes = 0;
    while reached[goal].is_none() && !front.is_empty() {
        writes += 1;
        let mut next = Vec::new();
        for number in front {
            let (_, so_far) = reached[number].expect("it was reached");
            let mut weight = 1;
            for (writable, contents) in contents.iter().enumerate() {
                let held = number / weight % contents.len();
                for content in (0..contents.len()).filter(|content| *content != held) {
                    let other = number - held * weight + content * weight;
                    let cost = (writes, so_far + invents(writable, content));
                    match reached[other] {
                        Some(known) if known <= cost => {}
                        Some(_) => reached[other] = Some(cost),
                        None if *safe_at[other].get_or_insert_with(|| safe(vehicle, found, &codes(other))) => {
                            reached[other] = Some(cost);
                            next.push(other);
                        }
                        None => {}
                    }
                }
                weight *= contents.len();
            }
        }
        front = next;
    }
    let reached = reached[goal]?;
    *now = codes(goal);
    Some(reached)
}
