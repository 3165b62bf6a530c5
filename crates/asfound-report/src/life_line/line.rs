//! What a life line shows.

use std::collections::BTreeSet;

use asfound_core::definition::DefinitionSet;
use asfound_core::difference::Content;
use asfound_core::history::{Field, History, Origin, Proof};
use asfound_core::names::EntryNumber;
use time::OffsetDateTime;

/// What a step is, and how well it is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StepKind {
    /// The first that is known.
    FirstKnown,
    /// Recorded work, stated only.
    Stated,
    /// Recorded work, read back by this reading.
    ReadBack(EntryNumber),
    /// Recorded work that a bus log, filed with this entry, witnesses in part: something in it was mended.
    PartlyWitnessed(EntryNumber),
    /// Recorded work that a bus log, filed with this entry, witnesses.
    Witnessed(EntryNumber),
    /// Recorded work that this reading contradicts.
    Contradicted(EntryNumber),
    /// A reading shows it, and no entry accounts for it.
    AnotherHand,
    /// A reading shows it, and nobody can say whether somebody altered it.
    CannotTell,
}

/// One step in the life of a setting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LifeStep {
    /// The entry that tells of it.
    pub entry: EntryNumber,
    /// When.
    pub at: OffsetDateTime,
    /// What it held before, where that is known.
    pub found: Option<Content>,
    /// What it holds since.
    pub left: Content,
    /// What the step is.
    pub kind: StepKind,
    /// The row of the value in the drawing, from the lowest.
    pub(crate) level: usize,
    /// The row of what it held before.
    pub(crate) from: Option<usize>,
}

/// The life of one setting, or of bits without a name, that ever changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LifeLine {
    /// The field as the journal writes it.
    pub field: Field,
    /// What the definition calls it.
    pub label: Option<String>,
    /// The steps, oldest first.
    pub steps: Vec<LifeStep>,
    /// When it was read.
    pub readings: Vec<OffsetDateTime>,
    /// The values, from the lowest row.
    pub(crate) levels: Vec<Content>,
}

/// The fields that ever changed: settings by name, then bits without a name.
pub(crate) fn ever_changed(history: &History) -> impl Iterator<Item = &Field> {
    let changed = history.timelines().iter().filter(|(_, timeline)| timeline.ever_altered());
    changed.map(|(field, _)| field)
}

/// The line of a field; nothing where nothing is known of it. `at` says when an entry happened.
pub(crate) fn life_line(
    field: &Field,
    history: &History,
    definitions: &DefinitionSet,
    at: impl Fn(EntryNumber) -> Option<OffsetDateTime>,
) -> Option<LifeLine> {
    let timeline = history.timeline(field)?;
    let levels = levels(timeline.held());
    let level = |content: &Content| {
        let text = content.to_string();
        levels.iter().position(|level| level.to_string() == text).unwrap_or_default()
    };
    let steps = timeline.transitions().iter().filter_map(|step| {
        let kind = match step.origin {
            Origin::FirstKnown => StepKind::FirstKnown,
            Origin::AnotherHand(_) | Origin::Contradicts(_) => StepKind::AnotherHand,
            Origin::CannotTell(_) => StepKind::CannotTell,
            Origin::Work => match history.proof(field, step.entry) {
                Some(Proof::ReadBack(reading)) => StepKind::ReadBack(reading),
                Some(Proof::PartlyWitnessed(log)) => StepKind::PartlyWitnessed(log),
                Some(Proof::Witnessed(log)) => StepKind::Witnessed(log),
                Some(Proof::Contradicted(reading)) => StepKind::Contradicted(reading),
                Some(Proof::Stated) | None => StepKind::Stated,
            },
        };
        Some(LifeStep {
            entry: step.entry,
            at: at(step.entry)?,
            found: step.found.clone(),
            level: level(&step.left),
            from: step.found.as_ref().map(level),
            left: step.left.clone(),
            kind,
        })
    });
    Some(LifeLine {
        label: label(field, history, definitions),
        steps: steps.collect(),
        readings: history.readings_of(field).filter_map(&at).collect(),
        field: field.clone(),
        levels,
    })
}

fn label(field: &Field, history: &History, definitions: &DefinitionSet) -> Option<String> {
    let Field::Setting(path) = field else { return None };
    let identity = history.state().identity(&path.module);
    let defined = definitions.fitting(&path.module, &identity).ok().flatten()?;
    Some(defined.setting(&path.setting)?.label().to_owned())
}

/// The different contents, numbers by their size and everything else in the order in which it came.
fn levels<'c>(held: impl Iterator<Item = &'c Content>) -> Vec<Content> {
    let mut seen = BTreeSet::new();
    let mut levels: Vec<Content> = held.filter(|content| seen.insert(content.to_string())).cloned().collect();
    let number = |content: &Content| match content.value() {
        Some(asfound_core::value::Value::Switch(on)) => Some(asfound_core::value::Decimal::from(i128::from(*on))),
        value => value?.number(),
    };
    if levels.iter().all(|level| number(level).is_some()) {
        levels.sort_by_key(|level| number(level));
    }
    levels
}
