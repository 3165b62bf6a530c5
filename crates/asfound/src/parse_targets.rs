//! Turns what was typed into targets: values are held against the definition that fits the module now.

use asfound_core::definition::{DefinitionSet, SettingDefinition};
use asfound_core::history::{Field, History};
use asfound_core::names::SettingPath;
use asfound_core::plan::{ChangeWish, Targets, Wish};
use asfound_core::value::{HexBytes, Value};

use crate::arguments::{Assignment, AssignmentPlace, FoundValue};
use crate::failure::Failure;
use crate::lookup::{defined, looked_up, setting_of};

/// A value as typed, held against the definition. Where no definition fits the module, it stays text.
///
/// # Errors
/// When the definition has no such setting, or the setting no such value.
pub fn value_of(
    history: &History,
    definitions: &DefinitionSet,
    path: &SettingPath,
    text: &str,
    permitted_only: bool,
) -> Result<Value, Failure> {
    typed(setting_of(history, definitions, path)?, path, text, permitted_only)
}

/// The same where it may be told what the setting was as found, so that nothing need be known of it.
fn told_value(
    (history, definitions): (&History, &DefinitionSet),
    path: &SettingPath,
    text: &str,
    permitted_only: bool,
) -> Result<Value, Failure> {
    typed(defined(looked_up(history, definitions, path)?.told(), path)?, path, text, permitted_only)
}

fn typed(
    setting: Option<&SettingDefinition>,
    path: &SettingPath,
    text: &str,
    permitted_only: bool,
) -> Result<Value, Failure> {
    let Some(setting) = setting else { return Ok(Value::Text(text.to_owned())) };
    let parsed = if permitted_only {
        setting.parse_value(text).map_err(|error| error.to_string())
    } else {
        setting.layout().parse_value(text).map_err(|error| error.to_string())
    };
    parsed.map_err(|error| {
        Failure::usage(format!("{path}: {error}")).hint(format!("`asfound explain {path}` says what it may be"))
    })
}

fn bytes_of(place: &AssignmentPlace, text: &str) -> Result<HexBytes, Failure> {
    let bytes: HexBytes = text.parse().map_err(|error| Failure::usage(format!("{place}: {error}")))?;
    if bytes.is_empty() { Err(Failure::usage(format!("{place}: there are no bytes"))) } else { Ok(bytes) }
}

/// The targets of a change.
///
/// # Errors
/// When a place is named twice, a value is none that its setting can have, or a value as found is told of something
/// that is not altered.
pub fn targets_of(
    history: &History,
    definitions: &DefinitionSet,
    assignments: &[Assignment],
    was: &[FoundValue],
    one_way: bool,
) -> Result<Targets<'static>, Failure> {
    let mut targets = Targets::new();
    let mut told_paths = Vec::new();
    for told in was {
        if let AssignmentPlace::Setting(path) = told_of(told, assignments)?.0 {
            told_paths.push(path);
        }
    }
    for (at, assignment) in assignments.iter().enumerate() {
        if assignments[..at].iter().any(|earlier| earlier.place == assignment.place) {
            return Err(Failure::usage(format!("{} is given twice", assignment.place)));
        }
        match &assignment.place {
            AssignmentPlace::Setting(path) => {
                let told = told_paths.contains(&path);
                let value = if told {
                    told_value((history, definitions), path, &assignment.text, true)?
                } else {
                    value_of(history, definitions, path, &assignment.text, true)?
                };
                targets.choose(Field::Setting(path.clone()), value);
            }
            AssignmentPlace::Record(module, record) => {
                let bytes = bytes_of(&assignment.place, &assignment.text)?;
                targets.choose_record(module.clone(), record.clone(), bytes);
            }
        }
    }
    for told in was {
        let (place, text) = told_of(told, assignments)?;
        if !assignments.iter().any(|assignment| assignment.place == *place) {
            return Err(Failure::usage(format!("`--was` tells of {place}, which is not altered here")));
        }
        match place {
            AssignmentPlace::Setting(path) => {
                let value = told_value((history, definitions), path, text, false)?;
                targets.tell_was(Field::Setting(path.clone()), value);
            }
            AssignmentPlace::Record(module, record) => {
                targets.tell_record_was(module.clone(), record.clone(), bytes_of(place, text)?);
            }
        }
    }
    if one_way {
        targets.allow_one_way();
    }
    Ok(targets)
}

/// The place that a value as found is told of, with the value.
fn told_of<'a>(told: &'a FoundValue, assignments: &'a [Assignment]) -> Result<(&'a AssignmentPlace, &'a str), Failure> {
    match (told, assignments) {
        (FoundValue::Named(told), _) => Ok((&told.place, &told.text)),
        (FoundValue::Bare(text), [only]) => Ok((&only.place, text)),
        (FoundValue::Bare(text), _) => Err(Failure::usage(format!("`--was {text}` does not say of which setting"))
            .hint("write `--was SETTING=VALUE` where several are altered")),
    }
}

/// What is wished for, as it is kept in a saved plan.
///
/// # Errors
/// As for [`targets_of`].
pub fn wish_of(assignments: &[Assignment], was: &[FoundValue], one_way: bool) -> Result<Wish, Failure> {
    let mut wish = ChangeWish { one_way, ..ChangeWish::default() };
    for Assignment { place, text } in assignments {
        match place {
            AssignmentPlace::Setting(path) => wish.settings.insert(path.clone(), text.clone()).map(|_| ()),
            AssignmentPlace::Record(module, record) => {
                wish.records.insert((module.clone(), record.clone()), bytes_of(place, text)?).map(|_| ())
            }
        };
    }
    for told in was {
        let (place, text) = told_of(told, assignments)?;
        match place {
            AssignmentPlace::Setting(path) => wish.was.insert(path.clone(), text.to_owned()).map(|_| ()),
            AssignmentPlace::Record(module, record) => {
                wish.record_was.insert((module.clone(), record.clone()), bytes_of(place, text)?).map(|_| ())
            }
        };
    }
    Ok(Wish::Change(wish))
}
