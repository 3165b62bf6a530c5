//! Whether the factory values keep the rules.

use std::collections::BTreeMap;

use crate::definition::{Rule, Truth};
use crate::document::item;
use crate::names::SettingPath;
use crate::value::Value;

use super::Context;
use super::setting::SettingDraft;

/// Warns where factory values of the module's own settings break a rule: either is likely not meant.
pub(super) fn check(rules: &[Rule], settings: &[SettingDraft], context: &Context<'_>) {
    let factory: BTreeMap<&str, &Value> =
        settings.iter().filter_map(|draft| Some((draft.name.as_str(), draft.factory.as_ref()?))).collect();
    let lookup = |path: &SettingPath| {
        let own = path.module == *context.module;
        factory.get(path.setting.as_str()).filter(|_| own).map(|value| (*value).clone())
    };
    for (index, rule) in rules.iter().enumerate() {
        if rule.evaluate(lookup) == Truth::Fails {
            let message = format!("the factory values break the rule `{}`: {}", rule.name(), rule.values_found(lookup));
            context.collector.warning(rule.place(), &item("rules", index), message);
        }
    }
}
