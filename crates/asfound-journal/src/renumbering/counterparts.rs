//! The entries of one line in another.

use std::collections::{HashMap, HashSet};

use asfound_core::names::EntryNumber;
use asfound_core::state::State;

use super::move_entry::{EntryMove, in_order};
use super::under_order;
use crate::journal::FiledEntry;

/// The entries of one line by their places in another: those up to where the lines part, and the others by their random
/// text, which an entry keeps wherever it stands.
pub(crate) struct Counterparts {
    /// How many entries, from the first on, are the same commits.
    pub(crate) shared: usize,
    by_index: Vec<Option<usize>>,
}

impl Counterparts {
    pub(crate) fn of(line: &[FiledEntry], other: &[FiledEntry]) -> Self {
        let shared = line.iter().zip(other).take_while(|(a, b)| a.commit == b.commit).count();
        let salts: HashMap<String, usize> =
            other.iter().enumerate().skip(shared).map(|(at, filed)| (filed.salt.to_string(), at)).collect();
        let find = |(at, filed): (usize, &FiledEntry)| {
            if at < shared { Some(at) } else { salts.get(&filed.salt.to_string()).copied() }
        };
        Self { shared, by_index: line.iter().enumerate().map(find).collect() }
    }

    pub(crate) fn index(&self, at: usize) -> Option<usize> {
        self.by_index.get(at).copied().flatten()
    }

    /// Says where an entry went that was not in the other line.
    pub(crate) fn set(&mut self, at: usize, other: usize) {
        self.by_index[at] = Some(other);
    }

    /// The entries of the other line that are none of the first `until` of this one.
    pub(crate) fn strangers<'o>(&self, until: usize, other: &'o [FiledEntry]) -> impl Iterator<Item = &'o FiledEntry> {
        let known: HashSet<usize> = self.by_index.iter().take(until).copied().flatten().collect();
        other.iter().enumerate().filter(move |(at, _)| !known.contains(at)).map(|(_, filed)| filed)
    }

    pub(crate) fn number(&self, number: EntryNumber) -> Option<EntryNumber> {
        let at = usize::try_from(number.get()).ok()?.checked_sub(1)?;
        EntryNumber::new(u32::try_from(self.index(at)? + 1).ok()?)
    }
}

/// How an entry of one line stands in another, where it does not stand there as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum EntryMismatch {
    /// It is not there.
    Absent,
    /// It is there and says something else.
    SaysOtherwise(EntryNumber),
}

/// The entries of `line` that do not stand in `other` with all that they say, by their numbers.
///
/// Each is held against what it must say where it stands, worked out from the line in which it stood: an entry that was
/// altered on its way shows.
pub(crate) fn unlike(line: &[FiledEntry], other: &[FiledEntry]) -> Vec<(EntryNumber, EntryMismatch)> {
    let counterparts = Counterparts::of(line, other);
    let mut wrong = Vec::new();
    let (Some(states), Some(other_states)) = (states(line), states(other)) else {
        // Neither follows from itself, so that nothing can be said of either.
        return line
            .iter()
            .skip(counterparts.shared)
            .map(|filed| (filed.entry.number, EntryMismatch::Absent))
            .collect();
    };
    for (at, filed) in line.iter().enumerate().skip(counterparts.shared) {
        let number = filed.entry.number;
        let Some(there) = counterparts.index(at) else {
            wrong.push((number, EntryMismatch::Absent));
            continue;
        };
        let found = &other[there].entry;
        let between = EntryMove {
            was: &states[at],
            after: &states[at + 1],
            now: &other_states[there],
            happened: &|number| happened(other, number),
            number: &|number| counterparts.number(number),
        };
        let entry = &filed.entry;
        let words = (&entry.author, &entry.why, entry.happened, entry.precision)
            == (&found.author, &found.why, found.happened, found.precision);
        let body = under_order::stands(line, at, &other[..there], &counterparts)
            .and_then(|()| between.carry(&entry.body, entry.happened));
        if !words || body.map(in_order) != Ok(in_order(found.body.clone())) {
            wrong.push((number, EntryMismatch::SaysOtherwise(found.number)));
        }
    }
    wrong
}

/// The state before the first entry, and after each.
pub(crate) fn states(line: &[FiledEntry]) -> Option<Vec<State>> {
    let mut states = vec![State::default()];
    for filed in line {
        let mut next = states.last()?.clone();
        next.apply(&filed.entry).ok()?;
        states.push(next);
    }
    Some(states)
}

/// When what an entry tells of happened.
pub(crate) fn happened(line: &[FiledEntry], number: EntryNumber) -> Option<time::OffsetDateTime> {
    line.get(usize::try_from(number.get()).ok()?.checked_sub(1)?).map(|filed| filed.entry.happened)
}

#[cfg(test)]
mod tests {
    use asfound_core::entry::{Author, Body, Entry, Reason, Vehicle};
    use time::macros::datetime;

    use super::*;
    use crate::entry_files::{Chain, Salt};

    fn filed(line: u8, number: u32, salt: u8, why: &str) -> FiledEntry {
        let at = datetime!(2026-03-14 09:20:05 +01:00);
        let vehicle = Vehicle { tag: "wren".parse().unwrap(), vin: None, about: None, enrolled: at };
        let entry = Entry {
            number: EntryNumber::new(number).unwrap(),
            recorded: at,
            happened: at,
            precision: asfound_core::moment::Precision::Second,
            author: Author::new("Edda Brandt", None).unwrap(),
            why: Reason::try_from(why.to_owned()).unwrap(),
            body: if number == 1 { Body::Enrolled(vehicle) } else { Body::Note(EntryNumber::new(number - 1)) },
        };
        let commit = format!("{line:02x}{number:038x}").parse().unwrap();
        FiledEntry {
            commit,
            entry,
            chain: Chain::start(),
            signed: None,
            salt: Salt::from([salt; 16]),
            replayed: None,
            source: None,
        }
    }

    #[test]
    fn what_is_gone_and_what_was_altered_on_its_way_shows() {
        let line = [filed(0, 1, 1, "enrolled"), filed(1, 2, 2, "two"), filed(1, 3, 3, "three")];
        let mut other =
            vec![filed(0, 1, 1, "enrolled"), filed(2, 2, 9, "theirs"), filed(2, 3, 2, "two"), filed(2, 4, 3, "three")];
        // Entry 2 is about entry 1 wherever it stands; entry 3 is about entry 2, which is entry 3 there.
        other[2].entry.body = Body::Note(EntryNumber::new(1));
        assert_eq!(unlike(&line, &other), []);
        let number = |number| EntryNumber::new(number).unwrap();

        let mut altered = other.clone();
        altered[3].entry.body = Body::Note(EntryNumber::new(2));
        assert_eq!(unlike(&line, &altered), [(number(3), EntryMismatch::SaysOtherwise(number(4)))]);
        altered = other.clone();
        altered[2].entry.why = Reason::try_from("another reason".to_owned()).unwrap();
        assert_eq!(unlike(&line, &altered), [(number(2), EntryMismatch::SaysOtherwise(number(3)))]);
        altered = other.clone();
        altered[2].entry.author = Author::new("Somebody else", None).unwrap();
        assert_eq!(unlike(&line, &altered), [(number(2), EntryMismatch::SaysOtherwise(number(3)))]);
        altered = other.clone();
        altered[3].salt = Salt::from([7; 16]);
        assert_eq!(unlike(&line, &altered), [(number(3), EntryMismatch::Absent)]);
        assert_eq!(
            unlike(&line, &other[..2]),
            [(number(2), EntryMismatch::Absent), (number(3), EntryMismatch::Absent)]
        );
    }
}
