//! Reads the rules between settings.

use std::collections::BTreeMap;

use crate::definition::{Condition, Rule, RuleKind};
use crate::document::{Node, TableReader, TextPosition};
use crate::names::RuleName;

use super::Context;
use super::condition::OwnSettings;
use super::setting::SettingDraft;
use super::words::NonBlankText;

pub(super) fn read(head: &TableReader<'_, '_>, settings: &[SettingDraft], context: &Context<'_>) -> Vec<Rule> {
    let own = OwnSettings {
        module: context.module,
        settings: settings.iter().map(|draft| (draft.name.as_str(), draft.layout.as_ref())).collect(),
        collector: context.collector,
    };
    let mut names = BTreeMap::new();
    head.items("rules").into_iter().filter_map(|(node, at)| rule(node, &at, &own, &mut names)).collect()
}

fn rule(node: &Node, at: &str, own: &OwnSettings<'_>, names: &mut BTreeMap<RuleName, TextPosition>) -> Option<Rule> {
    let keys = ["name", "when", "needs", "exclusive", "because", "source"];
    let table = TableReader::open(node, at, &keys, own.collector)?;
    let name: Option<RuleName> = table.required_parsed("name");
    if let Some(name) = &name {
        if let Some(first) = names.get(name) {
            table.error("name", format!("there is a rule `{name}` already, at {first}"));
        } else {
            names.insert(name.clone(), table.place_of("name"));
        }
    }
    let because: Option<NonBlankText> = table.required("because");
    let source: Option<NonBlankText> = table.optional("source");
    let kind = kind(&table, own);
    Some(Rule {
        name: name?,
        kind: kind?,
        because: because?.0,
        source: source.map(|words| words.0),
        place: table.place(),
    })
}

fn kind(table: &TableReader<'_, '_>, own: &OwnSettings<'_>) -> Option<RuleKind> {
    let side = |name: &str| own.conditions(table.get(name)?, &table.path(name));
    let when = side("when");
    let needs = side("needs");
    let exclusive = groups(table, own);
    match (table.has("when"), table.has("needs"), table.has("exclusive")) {
        (true, true, false) => Some(RuleKind::Needs { when: when?, needs: needs? }),
        (false, false, true) => Some(RuleKind::Exclusive(exclusive?)),
        (false, false, false) => {
            let message = "the rule says nothing: give `when` and `needs`, or `exclusive`";
            own.collector.error(table.place(), table.at(), message);
            None
        }
        (_, _, true) => {
            table.error("exclusive", "a rule has `when` and `needs`, or `exclusive`, not both");
            None
        }
        (true, false, false) => {
            table.error("when", "the rule has `when` but no `needs`: say what must hold then");
            None
        }
        (false, true, false) => {
            table.error("needs", "the rule has `needs` but no `when`: say when it must hold");
            None
        }
    }
}

fn groups(table: &TableReader<'_, '_>, own: &OwnSettings<'_>) -> Option<Vec<Vec<Condition>>> {
    let items = table.items("exclusive");
    if table.get("exclusive").and_then(Node::items)?.len() < 2 {
        table.error("exclusive", "at least two groups of conditions can exclude each other");
    }
    items.iter().map(|(node, at)| own.conditions(node, at)).collect()
}
