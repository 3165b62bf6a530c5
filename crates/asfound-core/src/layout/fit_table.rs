//! Whether a text table fits the bits that it names.

use std::collections::BTreeSet;

use super::{LayoutError, TextTable};

/// Finds everything in a table that does not fit; `numbers` is what the bits can hold, where that is known.
pub(super) fn fit_table(table: &TextTable, numbers: Option<(i128, i128)>, errors: &mut Vec<LayoutError>) {
    if table.entries.is_empty() {
        errors.push(LayoutError::NoChoices);
    }
    let mut names = BTreeSet::new();
    for entry in &table.entries {
        let name = &entry.name;
        if name.is_empty() || name.trim() != name || name.contains(char::is_control) {
            errors.push(LayoutError::ChoiceName(name.clone()));
        }
        if !names.insert(name.as_str()) {
            errors.push(LayoutError::ChoiceTwice(name.clone()));
        }
        let (name, from, to, write) = (name.clone(), entry.from, entry.to, entry.write);
        if from > to {
            errors.push(LayoutError::ChoiceTurned { name, from, to });
            continue;
        }
        if let Some((least, most)) = numbers
            && let Some(number) = [from, to].into_iter().find(|number| *number < least || *number > most)
        {
            errors.push(LayoutError::ChoiceOutside { name: name.clone(), number, least, most });
        }
        if write < from || write > to {
            errors.push(LayoutError::ChoiceWrite { name, write, from, to });
        }
    }
    fit_apart(table, errors);
}

/// Finds choices that share a number with one that starts before them.
fn fit_apart(table: &TextTable, errors: &mut Vec<LayoutError>) {
    let mut sorted: Vec<_> = table.entries.iter().filter(|entry| entry.from <= entry.to).collect();
    sorted.sort_by_key(|entry| entry.from);
    let mut sorted = sorted.into_iter();
    let Some(mut furthest) = sorted.next() else { return };
    for entry in sorted {
        if entry.from <= furthest.to {
            errors.push(LayoutError::ChoicesOverlap {
                first: furthest.name.clone(),
                second: entry.name.clone(),
                number: entry.from,
            });
        }
        if entry.to > furthest.to {
            furthest = entry;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::TextEntry;

    fn entry(name: &str, from: i128, to: i128, write: i128) -> TextEntry {
        TextEntry { name: name.to_owned(), from, to, write }
    }

    fn errors(entries: Vec<TextEntry>) -> Vec<LayoutError> {
        let mut errors = Vec::new();
        fit_table(&TextTable { entries }, Some((0, 15)), &mut errors);
        errors
    }

    #[test]
    fn finds_all_at_once() {
        let found = errors(vec![
            entry("low", 0, 9, 0),
            entry("low", 10, 10, 11),
            entry("", 11, 11, 11),
            entry("turned", 13, 12, 12),
            entry("far", 15, 16, 15),
            entry("within", 3, 4, 3),
            entry("across", 9, 9, 9),
        ]);
        let name = |text: &str| text.to_owned();
        assert_eq!(
            found,
            [
                LayoutError::ChoiceTwice(name("low")),
                LayoutError::ChoiceWrite { name: name("low"), write: 11, from: 10, to: 10 },
                LayoutError::ChoiceName(String::new()),
                LayoutError::ChoiceTurned { name: name("turned"), from: 13, to: 12 },
                LayoutError::ChoiceOutside { name: name("far"), number: 16, least: 0, most: 15 },
                LayoutError::ChoicesOverlap { first: name("low"), second: name("within"), number: 3 },
                LayoutError::ChoicesOverlap { first: name("low"), second: name("across"), number: 9 },
            ]
        );
        assert_eq!(errors(vec![]), [LayoutError::NoChoices]);
        assert_eq!(errors(vec![entry("high", 8, 15, 8), entry("low", 0, 7, 1)]), []);
    }
}
