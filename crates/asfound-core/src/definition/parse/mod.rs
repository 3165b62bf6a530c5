//! Reading a definition file: one pass that reports everything.

mod applies;
mod byte_ranges;
mod checksum;
mod condition;
mod control_characters;
mod conversion;
mod factory_rules;
mod hexadecimal;
mod layout;
mod overlap;
mod permitted;
mod plausibility;
mod record;
mod rule;
mod setting;
mod value;
mod words;

use std::collections::BTreeMap;

use super::model::undeclared_class;
use super::{AppliesTo, Definition, DefinitionFormat, ParsedDefinition};
use crate::document::{Collector, Node, Problem, Problems, TableReader, parse_toml, shown_text};
use crate::names::{DefinitionId, ModuleName};
use crate::safety::SafetyTag;
use record::RecordDraft;
use setting::SettingDraft;
use words::NonBlankText;

const KEYS: [&str; 11] = [
    "format",
    "id",
    "title",
    "source",
    "systems",
    "cautions",
    "applies_to",
    "records",
    "settings",
    "rules",
    "plausibility",
];

/// How strictly a text is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Strictness {
    /// As a file that somebody wants to use.
    File,
    /// As a text that an earlier version of this program pinned: what it accepted is accepted.
    Pinned,
}

/// What the parts of a definition know of the whole.
struct Context<'d> {
    format: DefinitionFormat,
    strictness: Strictness,
    module: &'d ModuleName,
    collector: &'d Collector,
}

pub(super) fn definition(text: &str, strictness: Strictness) -> Result<ParsedDefinition, Problems> {
    let root = parse_toml(text)?;
    let format = format(&root)?;
    let collector = Collector::new();
    let definition = read(&root, text, (format, strictness), &collector);
    if strictness == Strictness::File {
        control_characters::check(&root, "", &collector);
    }
    let problems = collector.into_problems();
    match definition {
        Some(definition) if !problems.has_errors() => Ok(ParsedDefinition { definition, warnings: problems }),
        _ => Err(problems),
    }
}

/// The format that a file names. A file of another one is not judged by the keys of these; one that names none is taken as
/// the newest, and its lack is reported along with the rest.
fn format(root: &Node) -> Result<DefinitionFormat, Problem> {
    let Some((node, name)) = root.get("format").and_then(|node| match &node.value {
        crate::document::NodeValue::Text(text) => Some((node, text)),
        _ => None,
    }) else {
        return Ok(DefinitionFormat::Two);
    };
    if let Some(format) = DefinitionFormat::named(name) {
        return Ok(format);
    }
    let [one, two] = DefinitionFormat::ALL;
    let newer = DefinitionFormat::is_newer(name);
    let message = if newer {
        format!("the format `{}` is not understood, only `{one}` and `{two}`", shown_text(name))
    } else {
        format!("`{}` is not the format of a definition, which is `{two}` or `{one}`", shown_text(name))
    };
    let problem = Problem::error(Some(node.place), "format", message);
    Err(if newer { problem.with_hint("the file may be for a newer version of this program") } else { problem })
}

fn read(
    root: &Node,
    text: &str,
    (format, strictness): (DefinitionFormat, Strictness),
    collector: &Collector,
) -> Option<Definition> {
    let head = TableReader::open(root, "", &KEYS, collector)?;
    let named: Option<&str> = head.required("format");
    let id: Option<DefinitionId> = head.required_parsed("id");
    let title: Option<NonBlankText> = head.required("title");
    let source: Option<NonBlankText> = head.optional("source");
    let systems = tags(&head, "systems");
    let cautions: Vec<NonBlankText> = head.optional("cautions").unwrap_or_default();
    let applies_to = applies::read(&head);
    // Whatever is known about the module, the rest of the file is judged.
    let unnamed = "unnamed".parse().expect("it is a module name");
    let module = applies_to.as_ref().map_or(&unnamed, |applies_to| &applies_to.module);
    let context = Context { format, strictness, module, collector };

    let records = records(&head, &context);
    let settings = settings(&head, &records, &context);
    overlap::check(&records, &settings, collector);
    let rules = rule::read(&head, &settings, &context);
    factory_rules::check(&rules, &settings, &context);
    let plausibility = plausibility::read(&head, &context);

    named?;
    let applies_to = applies_to?;
    let records = assemble_records(records, &settings, &systems, &applies_to)?;
    let settings = settings
        .into_iter()
        .map(|draft| draft.definition.map(|definition| (definition.path.setting.clone(), definition)))
        .collect::<Option<BTreeMap<_, _>>>()?;
    Some(Definition {
        id: id?,
        title: title?.0,
        source: source.map(|words| words.0),
        systems,
        cautions: cautions.into_iter().map(|words| words.0).collect(),
        applies_to,
        records,
        settings,
        rules,
        plausibility,
        text: text.to_owned(),
    })
}

/// Safety tags, each once.
fn tags(reader: &TableReader<'_, '_>, name: &str) -> Vec<SafetyTag> {
    let words = SafetyTag::ALL.map(|tag| (tag.as_str(), tag));
    let mut tags: Vec<SafetyTag> = Vec::new();
    for tag in reader.choices(name, "safety tag", &words) {
        if !tags.contains(&tag.value) {
            tags.push(tag.value);
        }
    }
    tags
}

fn records(head: &TableReader<'_, '_>, context: &Context<'_>) -> Vec<RecordDraft> {
    let Some(node) = head.required::<&Node>("records") else { return Vec::new() };
    let Some(table) = TableReader::open_free(node, &head.path("records"), context.collector) else {
        return Vec::new();
    };
    if table.entries().next().is_none() {
        head.error("records", "there is no record: a definition describes at least one");
    }
    table.entries().filter_map(|(key, node, at)| record::read(key, node, &at, context.collector)).collect()
}

fn settings(head: &TableReader<'_, '_>, records: &[RecordDraft], context: &Context<'_>) -> Vec<SettingDraft> {
    let Some(node) = head.optional::<&Node>("settings") else { return Vec::new() };
    let Some(table) = TableReader::open_free(node, &head.path("settings"), context.collector) else {
        return Vec::new();
    };
    let names: Vec<&str> = table.entries().map(|(key, ..)| key.name.as_str()).collect();
    table.entries().filter_map(|(key, node, at)| setting::read(key, node, &at, records, &names, context)).collect()
}

fn assemble_records(
    drafts: Vec<RecordDraft>,
    settings: &[SettingDraft],
    systems: &[SafetyTag],
    applies_to: &AppliesTo,
) -> Option<BTreeMap<crate::names::RecordName, super::RecordDefinition>> {
    let mut records = BTreeMap::new();
    for draft in drafts {
        let mut record = draft.finish(undeclared_class(systems, &applies_to.module))?;
        let within: Vec<_> = settings
            .iter()
            .filter_map(|setting| setting.definition.as_ref())
            .filter(|setting| setting.record == record.name)
            .collect();
        for setting in &within {
            record.named.add(&setting.layout.mask(record.length));
        }
        if let Some(class) = within.iter().map(|setting| setting.class()).max() {
            record.class = class;
        }
        record.settings = within.iter().map(|setting| setting.path.setting.clone()).collect();
        record.settings.sort();
        records.insert(record.name.clone(), record);
    }
    Some(records)
}
