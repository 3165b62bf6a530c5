//! The rules between settings that hold for one vehicle.

use std::collections::BTreeMap;

use super::sequencing::Part;
use crate::definition::{Definition, DefinitionSet, Rule, Truth};
use crate::difference::{Content, ModuleSnapshot};
use crate::names::{ModuleName, RuleName, SettingPath};
use crate::state::{ModuleState, State};
use crate::value::Value;

/// A rule that is or would be broken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleBreach {
    /// The rule's name.
    pub rule: RuleName,
    /// Why the rule is there.
    pub because: String,
    /// The settings it ties, with the values that break it.
    pub settings: Vec<(SettingPath, Value)>,
}

/// The rules of all definitions that fit a vehicle, with the values they look at.
#[derive(Debug, Clone)]
pub struct RuleBook<'d> {
    rules: Vec<&'d Rule>,
    values: BTreeMap<SettingPath, Value>,
}

impl<'d> RuleBook<'d> {
    /// The rules that concern a vehicle, with its present values. Modules that two definitions
    /// fit contribute nothing; planning for them is refused elsewhere.
    pub fn of(state: &State, definitions: &'d DefinitionSet) -> Self {
        let fitting =
            |name: &ModuleName, module: &ModuleState| definitions.fitting(name, &module.identity).ok().flatten();
        let rules: Vec<&Rule> = state
            .modules
            .iter()
            .filter_map(|(name, module)| fitting(name, module))
            .flat_map(Definition::rules)
            .collect();
        let mut values = BTreeMap::new();
        for path in rules.iter().flat_map(|rule| rule.settings()) {
            let Some(module) = state.module(&path.module) else { continue };
            let side = ModuleSnapshot { module, definition: fitting(&path.module, module) };
            if let Some(value) = side.content(&path.setting).as_ref().and_then(Self::value_in) {
                values.insert(path.clone(), value);
            }
        }
        Self { rules, values }
    }

    /// The value that rules compare: a value that no definition types is compared as the text that it is.
    pub(super) fn value_in(content: &Content) -> Option<Value> {
        match content {
            Content::Stated { text, value: None } => Some(Value::Text(text.clone())),
            content => content.value().cloned(),
        }
    }

    /// Takes on a value, as a write would bring it about.
    pub fn set(&mut self, path: &SettingPath, value: Option<Value>) {
        match value {
            Some(value) => self.values.insert(path.clone(), value),
            None => self.values.remove(path),
        };
    }

    /// What each rule says of the values, in a fixed order.
    pub fn verdicts(&self) -> Vec<Truth> {
        self.rules.iter().map(|rule| rule.evaluate(|path| self.value(path).cloned())).collect()
    }

    /// The parts of all rules that are not broken.
    pub(super) fn kept_parts(&self) -> Vec<Part<'d>> {
        let parts = self.rules.iter().enumerate().flat_map(|(at, rule)| Part::of(at, rule));
        parts.filter(|part| !part.broken(|path| self.value(path))).collect()
    }

    /// The value of a setting that a rule looks at.
    pub(super) fn value(&self, path: &SettingPath) -> Option<&Value> {
        self.values.get(path)
    }

    /// The name of the rule at a place in [`Self::verdicts`].
    pub(super) fn name(&self, at: usize) -> &RuleName {
        self.rules[at].name()
    }

    /// The rules that are broken.
    pub fn breaches(&self) -> Vec<RuleBreach> {
        let broken = self.verdicts().into_iter().enumerate().filter(|(_, verdict)| *verdict == Truth::Fails);
        broken.map(|(at, _)| self.breach(at)).collect()
    }

    /// The rule at a place, with the values that it looks at.
    pub(super) fn breach(&self, at: usize) -> RuleBreach {
        let rule = self.rules[at];
        let settings = rule.settings().into_iter();
        RuleBreach {
            rule: rule.name().clone(),
            because: rule.because().to_owned(),
            settings: settings.filter_map(|path| Some((path.clone(), self.value(path)?.clone()))).collect(),
        }
    }
}
