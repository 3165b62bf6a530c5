//! Reads which values a setting may have, and its factory value.

use std::collections::BTreeSet;

use crate::definition::Permitted;
use crate::document::{Node, TableReader};
use crate::layout::Layout;
use crate::value::Value;

use super::value::storable;

/// What `range` or `permitted` say; nothing where they could not be read.
pub(super) fn read(setting: &TableReader<'_, '_>, layout: &Layout) -> Option<Permitted> {
    match (setting.get("range"), setting.get("permitted")) {
        (None, None) => Some(Permitted::Any),
        (Some(node), None) => range(node, setting, layout),
        (None, Some(_)) => list(setting, layout),
        (Some(node), Some(_)) => {
            setting.error("permitted", "a setting has `range` or `permitted`, not both");
            range(node, setting, layout);
            list(setting, layout);
            None
        }
    }
}

fn range(node: &Node, setting: &TableReader<'_, '_>, layout: &Layout) -> Option<Permitted> {
    layout.limits()?;
    let table = TableReader::open(node, &setting.path("range"), &["min", "max"], setting.collector())?;
    let [min, max] = ["min", "max"].map(|name| {
        let node: &Node = table.required(name)?;
        storable(node, &table.path(name), layout, table.collector())
    });
    let (min, max) = (min?, max?);
    if min.number() > max.number() {
        setting.error("range", format!("the least value {min} is above the largest {max}"));
        return None;
    }
    Some(Permitted::Range { min, max })
}

fn list(setting: &TableReader<'_, '_>, layout: &Layout) -> Option<Permitted> {
    let items = setting.items("permitted");
    if setting.get("permitted").and_then(Node::items)?.is_empty() {
        setting.error("permitted", "the list is empty, so that no value would be permitted");
        return None;
    }
    let mut seen = BTreeSet::new();
    let mut values: Vec<Value> = Vec::with_capacity(items.len());
    for (node, at) in &items {
        let Some(value) = storable(node, at, layout, setting.collector()) else { continue };
        if !seen.insert(value.clone()) {
            setting.collector().error(node.place, at, format!("`{value}` is given twice"));
        }
        values.push(value);
    }
    (values.len() == items.len()).then_some(Permitted::List(values))
}

/// The factory value, which must be storable and permitted.
pub(super) fn factory(setting: &TableReader<'_, '_>, layout: &Layout, permitted: Option<&Permitted>) -> Option<Value> {
    let node: &Node = setting.optional("factory")?;
    let value = storable(node, &setting.path("factory"), layout, setting.collector())?;
    if let Some(permitted) = permitted.filter(|permitted| !permitted.permits(&value)) {
        setting.error("factory", format!("the factory value `{value}` is not permitted, only {permitted}"));
    }
    Some(value)
}
