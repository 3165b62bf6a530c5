//! Whether a term can be meant as it is written, as far as definitions and readings can tell.

use crate::definition::{Definition, DefinitionSet, SettingDefinition};
use crate::document::nearest_name;
use crate::entry::AuthorisedItem;
use crate::names::{ModuleName, SettingName, SettingPath};
use crate::state::State;
use crate::value::Value;

/// Why a term may not be what was meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TermDoubt {
    /// Nothing was read of such a module and no definition is for one, though another name comes close.
    UnknownModule {
        /// The name that comes close.
        near: ModuleName,
    },
    /// Nothing was read of such a module and no definition is for one: nothing can be said of the term yet.
    NothingKnown,
    /// No definition for the module has the setting, and nothing was read of it.
    UnknownSetting {
        /// The name that comes close.
        near: Option<SettingName>,
    },
    /// No definition for the module lets the setting have the value.
    UnknownValue {
        /// What the first of them says of it.
        reason: String,
    },
}

/// What definitions and readings say of a term: what they doubt, or else the text by which all definitions that can be
/// meant write its value, where they agree.
///
/// # Errors
/// What there is to doubt.
pub fn check_term(
    item: &AuthorisedItem,
    state: &State,
    definitions: &DefinitionSet,
) -> Result<Option<String>, TermDoubt> {
    let module = match item {
        AuthorisedItem::Setting { setting, left } => return check_setting(setting, left, state, definitions),
        AuthorisedItem::Record { module, .. } | AuthorisedItem::Unit { module } => module,
    };
    let described = definitions.iter().any(|definition| definition.applies_to().module() == module);
    if state.module(module).is_some() || described { Ok(None) } else { Err(of_module(module, state, definitions)) }
}

fn check_setting(
    path: &SettingPath,
    left: &str,
    state: &State,
    definitions: &DefinitionSet,
) -> Result<Option<String>, TermDoubt> {
    let module = state.module(&path.module);
    let known: Vec<&SettingName> = module.map(|module| module.stated.keys().collect()).unwrap_or_default();
    if known.contains(&&path.setting) {
        return Ok(None);
    }
    let identity = state.identity(&path.module);
    // Before the module is read, and where several definitions fit, each that is for such a module may be meant.
    let meant: Vec<&Definition> = match definitions.fitting(&path.module, &identity) {
        Ok(Some(one)) if module.is_some() => vec![one],
        Ok(None) if module.is_some() => Vec::new(),
        _ => definitions.iter().filter(|definition| *definition.applies_to().module() == path.module).collect(),
    };
    if meant.is_empty() && module.is_none() {
        return Err(of_module(&path.module, state, definitions));
    }
    if meant.is_empty() && known.is_empty() {
        return Ok(None);
    }
    let described: Vec<&SettingDefinition> =
        meant.iter().filter_map(|definition| definition.setting(&path.setting)).collect();
    if described.is_empty() {
        let names = meant.iter().flat_map(|definition| definition.settings().keys()).chain(known);
        let near = nearest_name(path.setting.as_str(), names.map(SettingName::as_str));
        return Err(TermDoubt::UnknownSetting { near: near.and_then(|near| near.parse().ok()) });
    }
    let read: Vec<_> = described.iter().map(|setting| setting.parse_value(left)).collect();
    let texts: Vec<String> = read.iter().flatten().map(Value::to_string).collect();
    match (texts.split_first(), read.into_iter().find_map(Result::err)) {
        (None, Some(error)) => Err(TermDoubt::UnknownValue { reason: error.to_string() }),
        (Some((first, others)), _) => Ok(others.iter().all(|other| other == first).then(|| first.clone())),
        (None, None) => Ok(None),
    }
}

fn of_module(module: &ModuleName, state: &State, definitions: &DefinitionSet) -> TermDoubt {
    let names: Vec<&ModuleName> =
        state.modules.keys().chain(definitions.iter().map(|definition| definition.applies_to().module())).collect();
    let near = nearest_name(module.as_str(), names.iter().map(|name| name.as_str()));
    match names.into_iter().find(|name| Some(name.as_str()) == near) {
        Some(near) => TermDoubt::UnknownModule { near: near.clone() },
        None => TermDoubt::NothingKnown,
    }
}
