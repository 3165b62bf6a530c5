//! The wish to make a vehicle like another one.

use std::collections::BTreeSet;

use super::refusal::PlanRefusal;
use super::target::Targets;
use crate::definition::DefinitionSet;
use crate::difference::{Content, ModuleSnapshot};
use crate::history::{Field, History};
use crate::names::{ModuleName, SettingPath};
use crate::state::{ModuleState, State};
use crate::value::Value;

/// The targets that give chosen settings the values that they have on another vehicle.
///
/// Values go over, never bytes: what the other vehicle's definition reads is written by the definition that fits this
/// vehicle's module. A setting for which that cannot be done is blocked, with the reason, and the plan does without it.
///
/// # Errors
/// When two definitions fit a module of either vehicle.
pub fn match_other(
    history: &History,
    definitions: &DefinitionSet,
    other: &State,
    other_definitions: &DefinitionSet,
    settings: &BTreeSet<SettingPath>,
) -> Result<Targets<'static>, PlanRefusal> {
    let mut targets = Targets::new();
    for path in settings {
        let theirs = side(other, other_definitions, &path.module)?.content(&path.setting);
        let field = Field::Setting(path.clone());
        match value(side(history.state(), definitions, &path.module)?, path, theirs) {
            Ok(value) => targets.choose(field, value),
            Err(why) => targets.block(field, why),
        }
    }
    Ok(targets)
}

fn side<'s>(
    state: &'s State,
    definitions: &'s DefinitionSet,
    module: &ModuleName,
) -> Result<ModuleSnapshot<'s>, PlanRefusal> {
    static NOTHING: std::sync::LazyLock<ModuleState> = std::sync::LazyLock::new(ModuleState::default);
    let known = state.module(module).unwrap_or(&NOTHING);
    let definition = definitions.fitting(module, &known.identity);
    let definition = definition.map_err(|source| PlanRefusal::TwoDefinitions { module: module.clone(), source })?;
    Ok(ModuleSnapshot { module: known, definition })
}

/// The value that the setting has to get on this vehicle, or why it cannot be.
fn value(own: ModuleSnapshot<'_>, path: &SettingPath, theirs: Option<Content>) -> Result<Value, String> {
    let theirs = theirs.ok_or("nothing is known of it on the other vehicle")?;
    let text = match &theirs {
        Content::Stated { text, value: None } => text.clone(),
        content => match content.value() {
            Some(value) => value.to_string(),
            None => {
                return Err(format!("on the other vehicle it holds {content}, of which nobody knows what it means"));
            }
        },
    };
    let defined = own.definition.and_then(|definition| definition.setting(&path.setting));
    let value = match defined {
        Some(defined) => defined.parse_value(&text).map_err(|why| why.to_string())?,
        None => Value::Text(text),
    };
    if own.content(&path.setting).is_none() {
        return Err("nothing is known of it on this vehicle: read it first".to_owned());
    }
    Ok(value)
}
