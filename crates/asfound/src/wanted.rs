//! Turns what was typed into targets: values are held against the definition that fits the module now.

use asfound_core::definition::{Definition, DefinitionSet, SettingDefinition};
use asfound_core::document::nearest_name;
use asfound_core::history::{Field, History};
use asfound_core::names::{ModuleName, SettingPath};
use asfound_core::plan::{ChangeWish, Targets, Wish};
use asfound_core::value::{HexBytes, Value};

use crate::arguments::{Assignment, Place, Told};
use crate::failure::Failure;

/// The definition that fits a module now.
///
/// # Errors
/// When two fit.
pub fn fitting<'d>(
    history: &History,
    definitions: &'d DefinitionSet,
    module: &ModuleName,
) -> Result<Option<&'d Definition>, Failure> {
    definitions
        .fitting(module, &history.state().identity(module))
        .map_err(|error| Failure::usage(format!("{module}: {error}")).hint("narrow `applies_to` in one of them"))
}

/// What the definition that fits a module has for a setting; nothing where none fits.
///
/// # Errors
/// When the definition has no such setting.
pub fn setting_of<'d>(
    history: &History,
    definitions: &'d DefinitionSet,
    path: &SettingPath,
) -> Result<Option<&'d SettingDefinition>, Failure> {
    let Some(definition) = fitting(history, definitions, &path.module)? else { return Ok(None) };
    if let Some(setting) = definition.setting(&path.setting) {
        return Ok(Some(setting));
    }
    let failure = Failure::usage(format!("{} has no setting `{}`", definition.id(), path.setting));
    let names = definition.settings().keys().map(|name| name.as_str());
    Err(match nearest_name(path.setting.as_str(), names) {
        Some(near) => failure.hint(format!("did you mean `{}.{near}`?", path.module)),
        None => failure.hint(format!("`asfound explain {}.` lists what it has", path.module)),
    })
}

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
    let Some(setting) = setting_of(history, definitions, path)? else {
        return Ok(Value::Text(text.to_owned()));
    };
    let parsed = if permitted_only {
        setting.parse_value(text).map_err(|error| error.to_string())
    } else {
        setting.layout().parse_value(text).map_err(|error| error.to_string())
    };
    parsed.map_err(|error| {
        Failure::usage(format!("{path}: {error}")).hint(format!("`asfound explain {path}` says what it may be"))
    })
}

fn bytes_of(place: &Place, text: &str) -> Result<HexBytes, Failure> {
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
    was: &[Told],
    one_way: bool,
) -> Result<Targets<'static>, Failure> {
    let mut targets = Targets::new();
    for (at, assignment) in assignments.iter().enumerate() {
        if assignments[..at].iter().any(|earlier| earlier.place == assignment.place) {
            return Err(Failure::usage(format!("{} is given twice", assignment.place)));
        }
        match &assignment.place {
            Place::Setting(path) => {
                let value = value_of(history, definitions, path, &assignment.text, true)?;
                targets.choose(Field::Setting(path.clone()), value);
            }
            Place::Record(module, record) => {
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
            Place::Setting(path) => {
                let value = value_of(history, definitions, path, text, false)?;
                targets.tell_was(Field::Setting(path.clone()), value);
            }
            Place::Record(module, record) => {
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
fn told_of<'a>(told: &'a Told, assignments: &'a [Assignment]) -> Result<(&'a Place, &'a str), Failure> {
    match (told, assignments) {
        (Told::Named(told), _) => Ok((&told.place, &told.text)),
        (Told::Bare(text), [only]) => Ok((&only.place, text)),
        (Told::Bare(text), _) => Err(Failure::usage(format!("`--was {text}` does not say of which setting"))
            .hint("write `--was SETTING=VALUE` where several are altered")),
    }
}

/// What is wished for, as it is kept in a saved plan.
///
/// # Errors
/// As for [`targets_of`].
pub fn wish_of(assignments: &[Assignment], was: &[Told], one_way: bool) -> Result<Wish, Failure> {
    let mut wish = ChangeWish { one_way, ..ChangeWish::default() };
    for Assignment { place, text } in assignments {
        match place {
            Place::Setting(path) => wish.settings.insert(path.clone(), text.clone()).map(|_| ()),
            Place::Record(module, record) => {
                wish.records.insert((module.clone(), record.clone()), bytes_of(place, text)?).map(|_| ())
            }
        };
    }
    for told in was {
        let (place, text) = told_of(told, assignments)?;
        match place {
            Place::Setting(path) => wish.was.insert(path.clone(), text.to_owned()).map(|_| ()),
            Place::Record(module, record) => {
                wish.record_was.insert((module.clone(), record.clone()), bytes_of(place, text)?).map(|_| ())
            }
        };
    }
    Ok(Wish::Change(wish))
}
