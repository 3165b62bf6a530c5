//! Which modules a variant's definition is for, from the values that tell variants apart.

use super::access::accesses;
use super::draft::ModulesDraft;
use crate::model::{Matching, Pattern};
use crate::report::Note;
use crate::view::View;
use asfound_core::names::RecordName;

/// Part of a module's identity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    Number,
    Hardware,
    Software,
}

/// Which part of the identity an identifier holds (ISO 14229-1, annex C; from memory).
const PARTS: [(u16, Part); 5] = [
    (0xF187, Part::Number),
    (0xF191, Part::Hardware),
    (0xF193, Part::Hardware),
    (0xF189, Part::Software),
    (0xF195, Part::Software),
];

/// Which modules a layer is for; what the patterns ask for beyond that is noted.
pub(crate) fn modules(view: &View<'_>, module: String, notes: &mut Vec<Note>) -> ModulesDraft {
    let mut draft = ModulesDraft { module, ..ModulesDraft::default() };
    let layer = &view.database.layers[view.layer];
    if layer.patterns.is_empty() {
        return draft;
    }
    let mut note = |line: u32, text: String| {
        notes.push(Note { place: view.database.place(view.layer, line, layer.head.id.as_deref()), text });
    };
    let mut rows: Vec<Vec<(Part, String)>> = Vec::new();
    for pattern in &layer.patterns {
        match row(view, pattern) {
            Ok(row) => rows.push(row),
            Err((line, why)) => {
                note(line, format!("The variant's pattern was not taken over: {why}"));
                return draft;
            }
        }
    }
    match joined(&rows) {
        Some((part_number, hardware, software)) => {
            (draft.part_number, draft.hardware, draft.software) = (part_number, hardware, software);
        }
        None => note(
            layer.head.line,
            "The variant's patterns were not taken over: together they are no list of part numbers, hardware and one software"
                .to_owned(),
        ),
    }
    draft
}

fn row(view: &View<'_>, pattern: &Pattern) -> Result<Vec<(Part, String)>, (u32, String)> {
    let mut row: Vec<(Part, String)> = Vec::new();
    for matching in &pattern.matching {
        let part = part(view, matching).map_err(|why| (matching.line, why))?;
        let text = matching.expected.trim().to_owned();
        // A star or a question mark would be a pattern of ours.
        if text.contains(['*', '?']) || text.chars().any(char::is_control) {
            return Err((matching.line, "the expected value has characters that stand for others".to_owned()));
        }
        if row.iter().any(|(other, _)| *other == part) {
            return Err((matching.line, "two values of one part of the identity must hold".to_owned()));
        }
        row.push((part, text));
    }
    row.sort();
    Ok(row)
}

fn part(view: &View<'_>, matching: &Matching) -> Result<Part, String> {
    let name = &matching.service;
    let found = view.services.services.iter().find(|one| one.name == *name);
    let Some(found) = found else { return Err(format!("there is no service {name}")) };
    let accesses = accesses(view, found.service.0, view.service(found.service));
    let accesses = accesses.map_err(|_| format!("the service {name} reads no record"))?;
    let [access] = accesses.found.as_slice() else { return Err(format!("the service {name} reads several records")) };
    let RecordName::Identifier(number) = access.record else {
        return Err(format!("the record {} is no part of a module's identity", access.record));
    };
    let part = PARTS.into_iter().find(|(identifier, _)| *identifier == number);
    let (_, part) = part.ok_or_else(|| format!("the record {number:04X} is no part of a module's identity"))?;
    let mut values = access.values();
    match (values.next(), values.next(), &matching.parameter) {
        (Some(only), None, Some(parameter)) if only.path.iter().map(String::as_str).eq(parameter.split('.')) => {
            Ok(part)
        }
        _ => Err(format!("the record {number:04X} has more in it than one value")),
    }
}

type Joined = (Vec<String>, Vec<String>, Option<(String, String)>);

/// One condition for all patterns together, where they are the same as a list for each part.
fn joined(rows: &[Vec<(Part, String)>]) -> Option<Joined> {
    let first: Vec<Part> = rows.first()?.iter().map(|(part, _)| *part).collect();
    if first.is_empty() || rows.iter().any(|row| row.iter().map(|(part, _)| *part).ne(first.iter().copied())) {
        return None;
    }
    let texts = |wanted: Part| {
        let mut texts: Vec<String> =
            rows.iter().flatten().filter(|(part, _)| *part == wanted).map(|(_, text)| text.clone()).collect();
        texts.sort();
        texts.dedup();
        texts
    };
    let (part_number, hardware, software) = (texts(Part::Number), texts(Part::Hardware), texts(Part::Software));
    let mut distinct = rows.to_vec();
    distinct.sort();
    distinct.dedup();
    let count = |texts: &[String]| texts.len().max(1);
    // Every combination must be a pattern, and software must be a single one: a range may hold more than its ends.
    let whole = count(&part_number) * count(&hardware) * count(&software) == distinct.len();
    if !whole || software.len() > 1 {
        return None;
    }
    let software = software.into_iter().next().map(|version| (version.clone(), version));
    Some((part_number, hardware, software))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_are_joined_only_where_nothing_is_added() {
        let row =
            |parts: &[(Part, &str)]| parts.iter().map(|(part, text)| (*part, (*text).to_owned())).collect::<Vec<_>>();
        let (p, h, s) = (Part::Number, Part::Hardware, Part::Software);
        let two = [row(&[(p, "A"), (s, "1")]), row(&[(p, "B"), (s, "1")])];
        let one = |text: &str| Some((text.to_owned(), text.to_owned()));
        assert_eq!(joined(&two), Some((vec!["A".into(), "B".into()], vec![], one("1"))));
        assert_eq!(joined(&[row(&[(p, "A"), (h, "1")]), row(&[(p, "B"), (h, "2")])]), None);
        assert_eq!(joined(&[row(&[(s, "1")]), row(&[(s, "2")])]), None);
        assert_eq!(joined(&[row(&[(p, "A")]), row(&[(h, "1")])]), None);
        assert_eq!(joined(&[row(&[])]), None);
    }
}
