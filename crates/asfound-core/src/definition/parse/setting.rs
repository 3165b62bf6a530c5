//! Reads the description of a setting.

use crate::definition::{Affected, SettingDefinition};
use crate::document::{Key, Node, Spanned, TableReader, TextPosition, nearest_name, shown_text};
use crate::layout::{Layout, Placement};
use crate::names::{SettingName, SettingPath};
use crate::value::Value;

use super::record::RecordDraft;
use super::words::NonBlankText;
use super::{Context, layout, permitted, tags};

const KEYS: [&str; 22] = [
    "label",
    "record",
    "byte",
    "bit",
    "bits",
    "order",
    "coding",
    "type",
    "choices",
    "scale",
    "scales",
    "unit",
    "decimals",
    "pad",
    "range",
    "permitted",
    "factory",
    "tags",
    "cautions",
    "affects",
    "about",
    "source",
];

/// A setting as far as it could be read; what is missing has been reported.
pub(super) struct SettingDraft {
    pub(super) name: String,
    pub(super) at: String,
    /// The place of `byte`, where problems with the bits are reported.
    pub(super) place: TextPosition,
    /// Its record, as a number in the list of records.
    pub(super) record: Option<usize>,
    pub(super) placement: Option<Placement>,
    pub(super) layout: Option<Layout>,
    pub(super) factory: Option<Value>,
    pub(super) definition: Option<SettingDefinition>,
}

/// Reads one setting; `names` are all settings of the file.
pub(super) fn read(
    key: &Key,
    node: &Node,
    at: &str,
    records: &[RecordDraft],
    names: &[&str],
    context: &Context<'_>,
) -> Option<SettingDraft> {
    let collector = context.collector;
    let name: Option<SettingName> = key
        .name
        .parse()
        .map_err(|error: crate::names::SlugError| collector.error(key.place, at, error.to_string()))
        .ok();
    let table = TableReader::open(node, at, &KEYS, collector)?;
    let label: Option<NonBlankText> = table.required("label");
    let record = record(&table, records);
    let (placement, layout) = layout::read(&table, context);
    let permitted = layout.as_ref().and_then(|layout| permitted::read(&table, layout));
    let factory = layout.as_ref().and_then(|layout| permitted::factory(&table, layout, permitted.as_ref()));
    if !table.has("tags") || table.get("tags").and_then(Node::items).is_some_and(<[Node]>::is_empty) {
        let message = "the setting has no safety tag: `tags` needs at least one";
        collector.error_with_hint(table.place_of("tags"), at, message, "for example tags = [\"comfort\"]");
    }
    let tags = tags(&table, "tags");
    let cautions: Vec<NonBlankText> = table.optional("cautions").unwrap_or_default();
    let affects = affects(&table, names, context);
    let [about, source] = ["about", "source"].map(|name| table.optional::<NonBlankText>(name).map(|words| words.0));

    let definition = (|| {
        Some(SettingDefinition {
            path: SettingPath { module: context.module.clone(), setting: name? },
            label: label?.0,
            record: records[record?].name.clone()?,
            layout: layout.clone()?,
            permitted: permitted?,
            factory: factory.clone(),
            tags,
            cautions: cautions.into_iter().map(|words| words.0).collect(),
            affects,
            about,
            source,
            place: table.place(),
        })
    })();
    Some(SettingDraft {
        name: key.name.clone(),
        at: at.to_owned(),
        place: table.place_of("byte"),
        record,
        placement,
        layout,
        factory,
        definition,
    })
}

fn record(table: &TableReader<'_, '_>, records: &[RecordDraft]) -> Option<usize> {
    let text: Spanned<&str> = table.required("record")?;
    let found = records.iter().position(|record| record.written == text.value);
    if found.is_none() {
        let message = format!("there is no record `{}` in this file", shown_text(text.value));
        let hint = nearest_name(text.value, records.iter().map(|record| record.written.as_str())).map_or_else(
            || format!("describe it: [records.{}]", shown_text(text.value)),
            |near| format!("did you mean `{near}`?"),
        );
        table.collector().error_with_hint(text.place, &table.path("record"), message, hint);
    }
    found
}

fn affects(table: &TableReader<'_, '_>, names: &[&str], context: &Context<'_>) -> Vec<Affected> {
    let affects = table.parsed_items("affects").into_iter();
    let known = |(affected, at): (Spanned<Affected>, String)| {
        if let Affected::Setting(path) = &affected.value
            && path.module == *context.module
            && !names.contains(&path.setting.as_str())
        {
            let message = format!("there is no setting `{}` in this file", path.setting);
            context.collector.error(affected.place, &at, message);
        }
        affected.value
    };
    affects.map(known).collect()
}
