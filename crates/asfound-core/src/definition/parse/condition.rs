//! Reads the conditions of rules.

use std::collections::BTreeMap;

use crate::definition::{Comparison, Condition, Operand};
use crate::document::{Collector, Key, Node, TableReader, item, nearest_name, shown_text};
use crate::layout::{Layout, ValueKind};
use crate::names::{ModuleName, SettingPath};
use crate::value::Decimal;

use super::value;

const TESTS: [&str; 7] = ["is", "is_not", "one_of", "at_least", "at_most", "above", "below"];

/// Whose setting a condition is about.
#[derive(Clone, Copy)]
enum Whose<'d> {
    /// Of this module, with its layout where that could be read.
    Own(Option<&'d Layout>),
    /// Of another module, whose layout is not known here.
    Other,
}

/// The settings of the definition's own module, each with its layout where that could be read.
pub(super) struct OwnSettings<'d> {
    pub(super) module: &'d ModuleName,
    pub(super) settings: BTreeMap<&'d str, Option<&'d Layout>>,
    pub(super) collector: &'d Collector,
}

impl OwnSettings<'_> {
    /// The conditions in a table; nothing, and a problem, where there is none.
    pub(super) fn conditions(&self, node: &Node, at: &str) -> Option<Vec<Condition>> {
        let table = TableReader::open_free(node, at, self.collector)?;
        if table.entries().next().is_none() {
            self.collector.error(node.place, at, "there is no condition: name at least one setting");
        }
        let mut conditions = Vec::new();
        for (key, node, at) in table.entries() {
            let Some((setting, whose)) = self.setting(key, node, &at) else { continue };
            let tests = self.tests(node, &at, &setting, whose);
            let place = key.place;
            conditions.extend(tests.into_iter().map(|test| Condition { setting: setting.clone(), test, place }));
        }
        Some(conditions)
    }

    /// The setting that a key names.
    fn setting(&self, key: &Key, node: &Node, at: &str) -> Option<(SettingPath, Whose<'_>)> {
        let name = &key.name;
        if name.contains('.') {
            let path: SettingPath = match name.parse() {
                Ok(path) => path,
                Err(error) => {
                    self.collector.error(key.place, at, format!("{error}"));
                    return None;
                }
            };
            if path.module != *self.module {
                return Some((path, Whose::Other));
            }
            return self.own(path.setting.as_str(), key, node, at);
        }
        self.own(name, key, node, at)
    }

    fn own(&self, name: &str, key: &Key, node: &Node, at: &str) -> Option<(SettingPath, Whose<'_>)> {
        if let Some(layout) = self.settings.get(name)
            && let Ok(setting) = name.parse()
        {
            return Some((SettingPath { module: self.module.clone(), setting }, Whose::Own(*layout)));
        }
        let message = format!("there is no setting `{}` in this file", shown_text(name));
        let inner = node.entries().and_then(|entries| entries.first()).map(|(key, _)| key.name.as_str());
        let hint = match inner {
            // `gateway.light_level = 2` without quotes is a table in a table.
            Some(inner) if !TESTS.contains(&inner) => Some(format!(
                "another module's setting is written in quotes: \"{}.{}\"",
                shown_text(name),
                shown_text(inner)
            )),
            _ => nearest_name(name, self.settings.keys().copied()).map(|near| format!("did you mean `{near}`?")),
        };
        match hint {
            Some(hint) => self.collector.error_with_hint(key.place, at, message, hint),
            None => self.collector.error(key.place, at, message),
        }
        None
    }

    /// What is asked of one setting: a value, or a table of tests.
    fn tests(&self, node: &Node, at: &str, path: &SettingPath, whose: Whose<'_>) -> Vec<Comparison> {
        if node.entries().is_none() {
            return self.operand(node, at, whose).map(Comparison::Is).into_iter().collect();
        }
        let Some(table) = TableReader::open(node, at, &TESTS, self.collector) else { return Vec::new() };
        if table.entries().next().is_none() {
            self.collector.error(node.place, at, format!("nothing is asked of {path}: give a value or a comparison"));
        }
        table.entries().filter_map(|(key, node, at)| self.test(&key.name, node, &at, path, whose)).collect()
    }

    fn test(&self, word: &str, node: &Node, at: &str, path: &SettingPath, whose: Whose<'_>) -> Option<Comparison> {
        match word {
            "is" => self.operand(node, at, whose).map(Comparison::Is),
            "is_not" => self.operand(node, at, whose).map(Comparison::IsNot),
            "one_of" => {
                let Some(items) = node.items() else {
                    self.collector.error(node.place, at, format!("expected a list of values, found {}", node.kind()));
                    return None;
                };
                if items.is_empty() {
                    self.collector.error(node.place, at, "the list is empty, so that the condition could never hold");
                }
                let operands = items.iter().enumerate();
                let operand = |(index, node)| self.operand(node, &item(at, index), whose);
                operands.map(operand).collect::<Option<Vec<_>>>().map(Comparison::OneOf)
            }
            "at_least" => self.bound(node, at, path, whose).map(Comparison::AtLeast),
            "at_most" => self.bound(node, at, path, whose).map(Comparison::AtMost),
            "above" => self.bound(node, at, path, whose).map(Comparison::Above),
            "below" => self.bound(node, at, path, whose).map(Comparison::Below),
            _ => None,
        }
    }

    fn operand(&self, node: &Node, at: &str, whose: Whose<'_>) -> Option<Operand> {
        let text = value::text(node, at, self.collector)?;
        let value = match whose {
            Whose::Other => None,
            Whose::Own(layout) => Some(value::storable(node, at, layout?, self.collector)?),
        };
        Some(Operand { text, value })
    }

    /// The number that a value is compared with; it need not be one that can be stored.
    fn bound(&self, node: &Node, at: &str, path: &SettingPath, whose: Whose<'_>) -> Option<Decimal> {
        let Whose::Own(layout) = whose else {
            let text = value::text(node, at, self.collector)?;
            return text.parse().map_err(|error| self.collector.error(node.place, at, format!("{error}"))).ok();
        };
        let layout = layout?;
        if !matches!(layout.kind(), ValueKind::Integer | ValueKind::Quantity { .. }) {
            let message = format!("{path} is of the type {}, which has no larger and smaller values", layout.kind());
            let hint = "compare with `is`, `is_not` or `one_of`";
            self.collector.error_with_hint(node.place, at, message, hint);
            return None;
        }
        value::typed(node, at, layout, self.collector)?.number()
    }
}
