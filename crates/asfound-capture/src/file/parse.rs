//! The head of a reading file, and the way in.

use std::collections::BTreeSet;

use asfound_core::document::{
    Collector, Problems, Spanned, TableReader, TimeText, decode_utf8, parse_json, parse_toml,
};
use asfound_core::names::{ModuleName, Tag, Vin};
use asfound_core::reading::{Reading, VehicleMark};
use asfound_core::situation::Situation;
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

use super::module::{line_of_text, module};

/// The version of the reading file that this program reads.
pub const READING_FORMAT: &str = "asfound-reading/1";

const KEYS: [&str; 12] = [
    "format",
    "vehicle",
    "vin",
    "taken",
    "by",
    "tool",
    "odometer_km",
    "supply_voltage",
    "engine",
    "ignition",
    "did_not_answer",
    "modules",
];

/// In which syntax a reading file is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadingSyntax {
    /// TOML.
    Toml,
    /// JSON.
    Json,
}

impl ReadingSyntax {
    /// The syntax of some content: JSON begins with a brace, and no TOML file does.
    pub fn of(bytes: &[u8]) -> Self {
        let content = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
        let first = content.iter().find(|byte| !byte.is_ascii_whitespace());
        if first == Some(&b'{') { Self::Json } else { Self::Toml }
    }
}

/// Reads a reading file.
///
/// # Errors
/// Everything that is wrong with it, each with line, column and the path of the key.
pub fn parse_reading(bytes: &[u8]) -> Result<Reading, Problems> {
    let text = decode_utf8(bytes)?;
    let root = match ReadingSyntax::of(bytes) {
        ReadingSyntax::Toml => parse_toml(text)?,
        ReadingSyntax::Json => parse_json(text)?,
    };
    let collector = Collector::new();
    let reading = TableReader::open(&root, "", &KEYS, &collector).map(|table| head(&table)).unwrap_or_default();
    let problems = collector.into_problems();
    if problems.has_errors() { Err(problems) } else { Ok(reading) }
}

fn head(table: &TableReader<'_, '_>) -> Reading {
    if let Some(format) = table.required::<&str>("format")
        && format != READING_FORMAT
    {
        let message = if format.starts_with("asfound-reading/") {
            format!("the format `{format}` is of another version, this program reads `{READING_FORMAT}`")
        } else {
            format!("invalid format `{format}`: a reading says format = \"{READING_FORMAT}\"")
        };
        table.error("format", message);
    }
    let tag = table.optional_parsed::<Tag>("vehicle").map(VehicleMark::Tag);
    let vin = table.optional_parsed::<Vin>("vin").map(VehicleMark::Vin);
    if tag.is_some() && vin.is_some() {
        table.error("vin", "a reading names its vehicle by `vehicle` or by `vin`, not by both");
    }
    Reading {
        vehicle: tag.or(vin),
        taken: table.optional::<Spanned<TimeText<'_>>>("taken").and_then(|text| taken(table, text)).map(Into::into),
        by: line_of_text(table, "by"),
        tool: line_of_text(table, "tool"),
        odometer_km: table.optional("odometer_km"),
        supply_voltage: table.optional("supply_voltage"),
        situation: Situation {
            engine: table.optional_parsed("engine"),
            ignition: table.optional_parsed("ignition"),
            did_not_answer: silent(table),
        },
        modules: modules(table),
    }
}

fn silent(table: &TableReader<'_, '_>) -> BTreeSet<ModuleName> {
    table.parsed_items("did_not_answer").into_iter().map(|(name, _)| name.value).collect()
}

fn taken(table: &TableReader<'_, '_>, text: Spanned<TimeText<'_>>) -> Option<OffsetDateTime> {
    let parsed = OffsetDateTime::parse(text.value.0, &Rfc3339);
    if parsed.is_err() {
        let message = format!("invalid time `{}` (expected date, time and offset)", text.value.0);
        table.collector().error_with_hint(
            text.place,
            &table.path("taken"),
            message,
            "write it as in 2026-03-14T09:20:00+01:00",
        );
    }
    parsed.ok()
}

fn modules(
    table: &TableReader<'_, '_>,
) -> std::collections::BTreeMap<ModuleName, asfound_core::reading::ModuleReading> {
    let mut modules = std::collections::BTreeMap::new();
    let Some(node) = table.required("modules") else { return modules };
    let Some(list) = TableReader::open_free(node, &table.path("modules"), table.collector()) else { return modules };
    for (key, node, at) in list.entries() {
        match key.name.parse::<ModuleName>() {
            Ok(name) => {
                modules.insert(name, module(node, &at, table.collector()));
            }
            Err(error) => table.collector().error(key.place, &at, error.to_string()),
        }
    }
    modules
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A journal shows what a reading says, so nothing in it may drive a terminal or break a line.
    #[test]
    fn control_characters_are_refused_wherever_a_text_is_kept() {
        let sound = "format = \"asfound-reading/1\"\nby = 'B'\ntool = 'T'\n[modules.body]\nserial = 'S'\nsettings = { a = 'V' }";
        let reading = parse_reading(sound.as_bytes()).unwrap();
        assert_eq!((reading.by.as_deref(), reading.tool.as_deref()), (Some("B"), Some("T")));
        for (key, place) in [("B", "by"), ("T", "tool"), ("S", "modules.body.serial"), ("V", "modules.body.settings.a")]
        {
            for text in ["\"\\u001b[2Jx\"", "\"x\\ny\""] {
                let problems = parse_reading(sound.replace(&format!("'{key}'"), text).as_bytes()).unwrap_err();
                let places: Vec<_> = problems.iter().map(|problem| problem.at.as_str()).collect();
                assert_eq!(places, [place]);
                assert!(problems.to_string().contains("control characters"), "{problems}");
            }
        }
    }

    #[test]
    fn a_trouble_code_stands_once_for_each_module() {
        let file = |codes: &str| format!("format = \"asfound-reading/1\"\n[modules.body]\ntrouble_codes = [{codes}]");
        let reading =
            parse_reading(file("{ code = \"C0035-11\" }, { code = \"C0035\", status = \"2F\" }").as_bytes()).unwrap();
        assert_eq!(reading.modules.values().next().unwrap().trouble_codes.as_ref().unwrap().len(), 2);
        let problems =
            parse_reading(file("{ code = \"C0035\" }, { code = \"C0035\", status = \"2F\" }").as_bytes()).unwrap_err();
        assert_eq!(
            problems.to_string(),
            "error: line 3, column 47: modules.body.trouble_codes[2].code: C0035 is given twice for this module"
        );
    }
}
