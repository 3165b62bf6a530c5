//! Whether several definitions go together.

use std::collections::BTreeMap;

use super::{Affected, Condition, Definition, Operand, SettingDefinition, Truth};
use crate::document::{Collector, Problem, nearest_name};
use crate::names::{ModuleName, SettingName, SettingPath};
use crate::value::Value;

/// A problem in one of several definitions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DefinitionProblem {
    /// The definition, as a number from 0 in the list that was given; the place of the problem is in its file.
    pub definition: usize,
    /// The problem.
    pub problem: Problem,
}

/// Holds several definitions against each other: names that are taken, definitions that fit the same modules, rules that
/// name modules, settings or values that none of the definitions has. Sorted by definition and place.
///
/// What one definition alone shows is reported by [`Definition::parse`] and not repeated.
pub fn check_together(definitions: &[Definition]) -> Vec<DefinitionProblem> {
    let all = DefinitionsByModule::new(definitions);
    let mut found = Vec::new();
    for (index, definition) in definitions.iter().enumerate() {
        let collector = Collector::new();
        check_apart(definition, &definitions[..index], &collector);
        for (number, rule) in definition.rules.iter().enumerate() {
            let at = crate::document::item("rules", number);
            for condition in rule.conditions().filter(|condition| condition.setting.module != *definition.module()) {
                all.check_condition(condition, &at, &collector);
            }
            let broken = |lookup: &dyn Fn(&SettingPath) -> Option<Value>| rule.evaluate(lookup) == Truth::Fails;
            let own = |path: &SettingPath| all.factory(path).filter(|_| path.module == *definition.module());
            if broken(&|path| all.factory(path)) && !broken(&own) {
                let values = rule.values_found(|path| all.factory(path));
                let message = format!("the factory values break the rule `{}`: {values}", rule.name());
                collector.warning(rule.place, &at, message);
            }
        }
        for setting in definition.settings.values() {
            all.check_affected(setting, definition.module(), &collector);
        }
        found.extend(
            collector.into_problems().into_iter().map(|problem| DefinitionProblem { definition: index, problem }),
        );
    }
    found
}

/// Whether a definition can be told from those before it.
fn check_apart(definition: &Definition, earlier: &[Definition], collector: &Collector) {
    let place = definition.applies_to.place;
    for other in earlier {
        if other.id == definition.id {
            collector.add(
                Problem::error(None, "id", format!("another definition is named `{}` too", definition.id))
                    .with_hint("give one of the two files another id, or remove it"),
            );
            continue;
        }
        let Some(overlap) = other.overlap(definition) else { continue };
        let message = format!("the definition `{}` {overlap}", other.id);
        collector.add(
            Problem::warning(Some(place), "applies_to", message)
                .with_hint("where both fit, neither explains the module: narrow one of them"),
        );
    }
}

/// All definitions, by the module that they are for.
struct DefinitionsByModule<'d>(BTreeMap<&'d ModuleName, Vec<&'d Definition>>);

impl<'d> DefinitionsByModule<'d> {
    fn new(definitions: &'d [Definition]) -> Self {
        let mut all: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for definition in definitions {
            all.entry(definition.module()).or_default().push(definition);
        }
        Self(all)
    }

    /// The descriptions of a setting in all definitions of its module.
    fn settings(&self, path: &SettingPath) -> Vec<&'d SettingDefinition> {
        let definitions = self.0.get(&path.module).map_or(&[][..], Vec::as_slice);
        definitions.iter().filter_map(|definition| definition.settings.get(&path.setting)).collect()
    }

    /// The factory value of a setting, where only one definition could say it.
    fn factory(&self, path: &SettingPath) -> Option<Value> {
        match self.0.get(&path.module).map(Vec::as_slice) {
            Some([one]) => one.settings.get(&path.setting)?.factory.clone(),
            _ => None,
        }
    }

    fn check_condition(&self, condition: &Condition, at: &str, collector: &Collector) {
        let path = &condition.setting;
        if let Some(problem) = self.nothing_named(path) {
            let (message, hint) = problem;
            let problem = Problem::warning(Some(condition.place), at, message);
            collector.add(match hint {
                Some(hint) => problem.with_hint(hint),
                None => problem,
            });
            return;
        }
        let settings = self.settings(path);
        for operand in operands(condition) {
            let known = settings.iter().any(|setting| setting.layout.parse_value(&operand.text).is_ok());
            if !known {
                let message = format!("{path} has no value `{}`", crate::document::shown_text(&operand.text));
                collector.warning(condition.place, at, message);
            }
        }
    }

    fn check_affected(&self, setting: &SettingDefinition, own: &ModuleName, collector: &Collector) {
        for affected in &setting.affects {
            // A module without a definition may well be affected; a setting that no definition of its module has is a slip.
            if let Affected::Setting(path) = affected
                && path.module != *own
                && self.0.contains_key(&path.module)
                && let Some((message, _)) = self.nothing_named(path)
            {
                let at = format!("settings.{}.affects", setting.path.setting);
                collector.warning(setting.place, &at, message);
            }
        }
    }

    /// Why a path names nothing, and what may have been meant.
    fn nothing_named(&self, path: &SettingPath) -> Option<(String, Option<String>)> {
        let Some(definitions) = self.0.get(&path.module) else {
            let message = format!("{path} is of the module `{}`, for which no definition was given", path.module);
            let near = nearest_name(path.module.as_str(), self.0.keys().map(|module| module.as_str()));
            return Some((message, near.map(|near| format!("did you mean `{near}`?"))));
        };
        if !self.settings(path).is_empty() {
            return None;
        }
        let names = definitions.iter().flat_map(|definition| definition.settings.keys());
        let near = nearest_name(path.setting.as_str(), names.map(SettingName::as_str));
        let message = format!("no definition given for the module `{}` has a setting `{}`", path.module, path.setting);
        Some((message, near.map(|near| format!("did you mean `{}.{near}`?", path.module))))
    }
}

fn operands(condition: &Condition) -> &[Operand] {
    use super::Comparison;
    match &condition.test {
        Comparison::Is(operand) | Comparison::IsNot(operand) => std::slice::from_ref(operand),
        Comparison::OneOf(operands) => operands,
        Comparison::AtLeast(_) | Comparison::AtMost(_) | Comparison::Above(_) | Comparison::Below(_) => &[],
    }
}
