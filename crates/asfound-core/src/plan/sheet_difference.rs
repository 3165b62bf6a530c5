//! In what the steps of one work sheet differ from those of another.

use std::fmt;

use super::sheet_code::line;
use super::{SavedStep, StatedContent};
use crate::entry::StepPlace;

/// What a step asks for: what to look for, and what to write.
pub type StepRequest = (Option<StatedContent>, StatedContent);

/// A step that differs between the sheet that was followed and the steps as they are now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetDifference {
    /// Where it writes.
    pub place: StepPlace,
    /// What the sheet asked for; nothing where it has no such step.
    pub sheet: Option<StepRequest>,
    /// What is to be done now; nothing where there is no such step any more.
    pub now: Option<StepRequest>,
}

impl fmt::Display for SheetDifference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let asked = |(expect, write): &StepRequest| match expect {
            Some(expect) => format!("look for {expect}, write {write}"),
            None => format!("write {write}"),
        };
        match (&self.sheet, &self.now) {
            (Some(sheet), Some(now)) if sheet == now => write!(f, "{}: in another place of the order", self.place),
            (Some(sheet), Some(now)) => {
                write!(f, "{}: the sheet says {}; now it is: {}", self.place, asked(sheet), asked(now))
            }
            (Some(sheet), None) => {
                write!(f, "{}: the sheet says {}; now no such step is left", self.place, asked(sheet))
            }
            (None, Some(now)) => write!(f, "{}: not on the sheet; now: {}", self.place, asked(now)),
            (None, None) => write!(f, "{}", self.place),
        }
    }
}

/// What differs between the steps of a sheet and the steps as they are now, bits that change by themselves apart. Nothing
/// where a sheet with the one is as good as a sheet with the other.
pub fn sheet_differences(sheet: &[SavedStep], now: &[SavedStep]) -> Vec<SheetDifference> {
    let asked = |step: &SavedStep| (step.expected(), step.wanted());
    if sheet.len() == now.len() && sheet.iter().zip(now).all(|(a, b)| line(a) == line(b)) {
        return Vec::new();
    }
    // What is asked for at the same place pairs up; the same step twice is two steps.
    let mut open: Vec<Option<&SavedStep>> = now.iter().map(Some).collect();
    let mut left = Vec::new();
    for step in sheet {
        match open.iter_mut().find(|other| other.is_some_and(|other| line(other) == line(step))) {
            Some(found) => *found = None,
            None => left.push(step),
        }
    }
    let mut differences = Vec::new();
    for step in left {
        let other = open.iter_mut().find(|other| other.is_some_and(|other| other.place() == step.place()));
        let now = other.and_then(Option::take).map(asked);
        differences.push(SheetDifference { place: step.place(), sheet: Some(asked(step)), now });
    }
    let new = open.into_iter().flatten();
    differences.extend(new.map(|step| SheetDifference { place: step.place(), sheet: None, now: Some(asked(step)) }));
    if differences.is_empty() {
        // The steps are the same, in another order.
        let moved = sheet.iter().zip(now).find(|(a, b)| line(a) != line(b)).map(|(_, step)| step);
        let moved =
            moved.map(|step| SheetDifference { place: step.place(), sheet: Some(asked(step)), now: Some(asked(step)) });
        differences.extend(moved);
    }
    differences
}

/// Whether the steps as they are now are those of a sheet, in its order, of which some are not needed any more.
pub fn is_rest_of(now: &[SavedStep], sheet: &[SavedStep]) -> bool {
    let mut sheet = sheet.iter().map(line);
    now.iter().map(line).all(|step| sheet.any(|other| other == step))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::SavedWrite;
    use crate::safety::SafetyClass;
    use crate::value::BitMask;

    /// `record expect write`, as a step of the module `body`.
    fn steps(texts: &[&str]) -> Vec<SavedStep> {
        let step = |text: &&str| {
            let words: Vec<&str> = text.split(' ').collect();
            let bytes = |text: &str| text.parse().unwrap();
            let (record, expect, write) = (words[0].parse().unwrap(), Some(bytes(words[1])), bytes(words[2]));
            SavedStep {
                module: "body".parse().unwrap(),
                address: None,
                write: SavedWrite::Record { record, expect, write, volatile: BitMask::default() },
                settings: Vec::new(),
                undeclared: BitMask::default(),
                class: SafetyClass::Caution,
                restricted: Vec::new(),
                cautions: Vec::new(),
                definition: None,
                intermediate: None,
                remarks: Vec::new(),
            }
        };
        texts.iter().map(step).collect()
    }

    fn told(sheet: &[&str], now: &[&str]) -> Vec<String> {
        sheet_differences(&steps(sheet), &steps(now)).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn what_differs_is_told_step_by_step() {
        assert_eq!(told(&["0D01 13 15", "0D02 00 01"], &["0D01 13 15", "0D02 00 01"]), [""; 0]);
        assert_eq!(
            told(&["0D01 13 15", "0D02 00 01", "0D03 00 01"], &["0D01 13 15", "0D02 10 11", "0D04 00 01"]),
            [
                "body:0D02: the sheet says look for 00, write 01; now it is: look for 10, write 11",
                "body:0D03: the sheet says look for 00, write 01; now no such step is left",
                "body:0D04: not on the sheet; now: look for 00, write 01",
            ]
        );
        assert_eq!(
            told(&["0D01 13 15", "0D02 00 01"], &["0D02 00 01", "0D01 13 15"]),
            ["body:0D02: in another place of the order"]
        );
        // The same step twice is two steps.
        assert_eq!(told(&["0D01 13 15"], &["0D01 13 15", "0D01 13 15"]).len(), 1);
    }

    #[test]
    fn a_rest_keeps_steps_and_order() {
        let rest = |now: &[&str], sheet: &[&str]| is_rest_of(&steps(now), &steps(sheet));
        let sheet = ["0D01 13 15", "0D02 00 01", "0D01 15 17"];
        assert!(rest(&sheet, &sheet) && rest(&sheet[1..], &sheet) && rest(&[], &sheet));
        assert!(rest(&["0D01 13 15", "0D01 15 17"], &sheet));
        assert!(!rest(&["0D01 15 17", "0D02 00 01"], &sheet));
        assert!(!rest(&["0D01 15 13"], &sheet));
        assert!(!rest(&["0D02 00 01", "0D02 00 01"], &sheet));
    }
}
