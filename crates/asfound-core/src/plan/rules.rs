//! The rules between settings that hold for one vehicle.

use std::collections::BTreeMap;

use crate::definition::{Definition, DefinitionSet, Rule, Verdict};
use crate::difference::Side;
use crate::names::{RuleName, SettingPath};
use crate::state::State;
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
        let fitting: Vec<(_, Side<'_>, &'d Definition)> = state
            .modules
            .iter()
            .filter_map(|(name, module)| {
                let definition = definitions.fitting(name, &module.identity).ok().flatten()?;
                Some((name, Side { module, definition: Some(definition) }, definition))
            })
            .collect();
        let mut rules = Vec::new();
        let mut values = BTreeMap::new();
        for (_, _, definition) in &fitting {
            rules.extend(definition.rules());
        }
        for path in rules.iter().flat_map(|rule| rule.settings()) {
            let side = fitting.iter().find(|(name, ..)| **name == path.module).map(|(_, side, _)| side);
            let content = side.and_then(|side| side.content(&path.setting));
            if let Some(value) = content.and_then(|content| content.value().cloned()) {
                values.insert(path.clone(), value);
            }
        }
        Self { rules, values }
    }

    /// Takes on a value, as a write would bring it about.
    pub fn set(&mut self, path: &SettingPath, value: Option<Value>) {
        match value {
            Some(value) => self.values.insert(path.clone(), value),
            None => self.values.remove(path),
        };
    }

    /// What each rule says of the values, in a fixed order.
    pub fn verdicts(&self) -> Vec<Verdict> {
        self.rules.iter().map(|rule| rule.evaluate(|path| self.values.get(path).cloned())).collect()
    }

    /// The name of the rule at a place in [`Self::verdicts`].
    pub(super) fn name(&self, at: usize) -> &RuleName {
        self.rules[at].name()
    }

    /// The rules that are broken.
    pub fn breaches(&self) -> Vec<RuleBreach> {
        let broken = self.rules.iter().zip(self.verdicts()).filter(|(_, verdict)| *verdict == Verdict::Fails);
        broken
            .map(|(rule, _)| RuleBreach {
                rule: rule.name().clone(),
                because: rule.because().to_owned(),
                settings: rule
                    .settings()
                    .into_iter()
                    .filter_map(|path| Some((path.clone(), self.values.get(path)?.clone())))
                    .collect(),
            })
            .collect()
    }
}
