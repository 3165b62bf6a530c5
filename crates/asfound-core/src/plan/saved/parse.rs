//! Reads a saved plan, with every problem named by its place.

use std::collections::{BTreeMap, BTreeSet};
use std::str::FromStr;

use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

use super::{ChangeWish, PLAN_FORMAT, SavedPlan, Wish, parse_step};
use crate::document::{
    Collector, Node, NodeValue, Problem, Problems, Spanned, TableReader, TimeText, decode_utf8, parse_toml,
};
use crate::entry::Acknowledgement;
use crate::history::Field;
use crate::names::{EntryNumber, ModuleName, RecordName, SettingPath};
use crate::value::{BitMask, HexBytes};

/// What stands at the top of the file.
const KEYS: [&str; 9] = ["format", "id", "vehicle", "made", "stands_on", "wish", "fields", "acknowledgements", "steps"];

impl SavedPlan {
    /// Reads a plan file.
    ///
    /// # Errors
    /// Everything that is wrong with it. A file of another format is not looked into.
    pub fn parse(bytes: &[u8]) -> Result<Self, Problems> {
        let root = parse_toml(decode_utf8(bytes)?)?;
        let format = root.get("format");
        let told = format.and_then(|node| match &node.value {
            NodeValue::Text(text) => Some(text.as_str()),
            _ => None,
        });
        match told {
            Some(PLAN_FORMAT) => {}
            Some(other) if other.starts_with("asfound-plan/") => {
                let message = format!("the format is `{other}`, this program reads `{PLAN_FORMAT}`");
                let problem = Problem::error(format.map(|node| node.place), "format", message);
                return Err(problem.with_hint("use the version of the program that saved it").into());
            }
            _ => {
                let message = format!("this is not a saved plan: it does not begin with format = \"{PLAN_FORMAT}\"");
                return Err(Problem::error(format.map(|node| node.place), "", message).into());
            }
        }
        let collector = Collector::new();
        let plan = TableReader::open(&root, "", &KEYS, &collector).and_then(|table| plan(&table));
        let problems = collector.into_problems();
        match plan {
            Some(plan) if !problems.has_errors() => Ok(plan),
            _ => Err(problems),
        }
    }
}

fn plan(table: &TableReader<'_, '_>) -> Option<SavedPlan> {
    let id = table.required_parsed("id");
    let vehicle = table.required_parsed("vehicle");
    let made = table.required::<Spanned<TimeText<'_>>>("made").and_then(|text| moment(table, text));
    let stands_on = entry(table, "stands_on");
    let wish = table.required::<&Node>("wish").and_then(|node| wish(node, table));
    let fields = table.required::<&Node>("fields").and_then(|node| fields(node, table));
    let acknowledgements = table.items("acknowledgements").into_iter().filter_map(|(node, at)| {
        let table = TableReader::open(node, &at, &["tag", "name", "grounds"], table.collector())?;
        let (tag, name, grounds) = (table.required_parsed("tag"), table.required("name"), table.required("grounds"));
        Some(Acknowledgement { tag: tag?, name: name?, grounds: grounds? })
    });
    let acknowledgements = acknowledgements.collect();
    let steps = table.items("steps");
    let steps = steps.into_iter().filter_map(|(node, at)| parse_step::step(node, &at, table.collector())).collect();
    let (wish, for_a_time) = wish?;
    Some(SavedPlan {
        id: id?,
        vehicle: vehicle?,
        made: made?,
        stands_on: stands_on?,
        wish,
        for_a_time,
        acknowledgements,
        fields: fields?,
        steps,
    })
}

fn moment(table: &TableReader<'_, '_>, text: Spanned<TimeText<'_>>) -> Option<OffsetDateTime> {
    let moment = OffsetDateTime::parse(text.value.0, &Rfc3339).ok();
    if moment.is_none() {
        table.error("made", "a time is written as in 2026-03-14T09:20:00+01:00 (RFC 3339)");
    }
    moment
}

fn entry(table: &TableReader<'_, '_>, key: &str) -> Option<EntryNumber> {
    number(table.required::<Spanned<u32>>(key)?, &table.path(key), table.collector())
}

fn number(number: Spanned<u32>, at: &str, collector: &Collector) -> Option<EntryNumber> {
    let entry = EntryNumber::new(number.value);
    if entry.is_none() {
        collector.error(number.place, at, "entries are numbered from 1");
    }
    entry
}

/// What is wished for, and the settings that may be altered for a time.
fn wish(node: &Node, above: &TableReader<'_, '_>) -> Option<(Wish, BTreeSet<SettingPath>)> {
    let known = ["put_back", "return_to", "change", "allow_for_a_time"];
    let table = TableReader::open(node, &above.path("wish"), &known, above.collector())?;
    let for_a_time = table.parsed_items("allow_for_a_time").into_iter().map(|(path, _)| path.value).collect();
    only_wish(&table).map(|wish| (wish, for_a_time))
}

fn only_wish(table: &TableReader<'_, '_>) -> Option<Wish> {
    let wishes = ["put_back", "return_to", "change"].into_iter().filter(|key| table.has(key)).count();
    if wishes != 1 {
        let message = "a plan has one wish: `put_back`, `return_to` or `change`";
        table.collector().error(table.place(), table.at(), message);
        return None;
    }
    if table.has("return_to") {
        return entry(table, "return_to").map(Wish::ReturnTo);
    }
    if let Some(node) = table.get("put_back") {
        let at = table.path("put_back");
        let table = TableReader::open(node, &at, &["entries", "keep", "choose"], table.collector())?;
        let numbers: Vec<Spanned<u32>> = table.required("entries").unwrap_or_default();
        let at = table.path("entries");
        let entries: BTreeSet<_> = numbers.into_iter().filter_map(|n| number(n, &at, table.collector())).collect();
        if entries.is_empty() {
            table.error("entries", "there is no entry to take back");
        }
        let keep = table.parsed_items("keep").into_iter().map(|(path, _)| path.value).collect();
        return Some(Wish::PutBack { entries, keep, choose: values(&table, "choose") });
    }
    let node = table.get("change")?;
    let known = ["one_way", "settings", "records", "was", "record_was", "like"];
    let table = TableReader::open(node, &table.path("change"), &known, table.collector())?;
    let wish = ChangeWish {
        settings: values(&table, "settings"),
        records: records(&table, "records"),
        was: values(&table, "was"),
        record_was: records(&table, "record_was"),
        one_way: table.with_default("one_way", false)?,
        like: table.optional_parsed("like"),
    };
    if wish.settings.is_empty() && wish.records.is_empty() {
        table.collector().error(table.place(), table.at(), "nothing is wished for");
    }
    Some(Wish::Change(wish))
}

/// A table of `"module.setting" = "value"`.
fn values(table: &TableReader<'_, '_>, key: &str) -> BTreeMap<SettingPath, String> {
    keyed::<SettingPath>(table, key).into_iter().map(|(path, text)| (path, text.value.to_owned())).collect()
}

/// A table of `"module:record" = "bytes"`.
fn records(table: &TableReader<'_, '_>, key: &str) -> BTreeMap<(ModuleName, RecordName), HexBytes> {
    let mut records = BTreeMap::new();
    for (PlacedRecord(module, record), text) in keyed::<PlacedRecord>(table, key) {
        match text.value.parse::<HexBytes>() {
            Ok(bytes) if !bytes.is_empty() => {
                records.insert((module, record), bytes);
            }
            Ok(_) => table.collector().error(text.place, &table.path(key), "there are no bytes"),
            Err(error) => table.collector().error(text.place, &table.path(key), error.to_string()),
        }
    }
    records
}

/// `module:record`.
struct PlacedRecord(ModuleName, RecordName);

impl FromStr for PlacedRecord {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let (module, record) = text.split_once(':').ok_or("a record is written module:record")?;
        Ok(Self(
            module.parse().map_err(|error| format!("{error}"))?,
            record.parse().map_err(|error| format!("{error}"))?,
        ))
    }
}

fn keyed<'n, K: FromStr<Err: std::fmt::Display>>(table: &TableReader<'n, '_>, key: &str) -> Vec<(K, Spanned<&'n str>)> {
    let Some(node) = table.get(key) else { return Vec::new() };
    let Some(inner) = TableReader::open_free(node, &table.path(key), table.collector()) else { return Vec::new() };
    let mut pairs = Vec::new();
    for (key, _, at) in inner.entries() {
        let text = inner.required::<Spanned<&str>>(&key.name);
        match key.name.parse::<K>() {
            Ok(key) => pairs.extend(text.map(|text| (key, text))),
            Err(error) => inner.collector().error(key.place, &at, error.to_string()),
        }
    }
    pairs
}

fn fields(node: &Node, above: &TableReader<'_, '_>) -> Option<Vec<Field>> {
    let table = TableReader::open(node, &above.path("fields"), &["settings", "undeclared"], above.collector())?;
    let settings = table.parsed_items("settings").into_iter().map(|(path, _)| Field::Setting(path.value));
    let mut fields: BTreeSet<Field> = settings.collect();
    for (node, at) in table.items("undeclared") {
        let Some(table) = TableReader::open(node, &at, &["module", "record", "bits"], table.collector()) else {
            continue;
        };
        let module: Option<ModuleName> = table.required_parsed("module");
        let record: Option<RecordName> = table.required_parsed("record");
        let groups: Vec<HexBytes> = match table.required::<&Node>("bits") {
            // One alone may stand without brackets.
            Some(one) if matches!(one.value, NodeValue::Text(_)) => table.required_parsed("bits").into_iter().collect(),
            _ => table.parsed_items("bits").into_iter().map(|(bits, _)| bits.value).collect(),
        };
        if let (Some(module), Some(record)) = (module, record) {
            let of = |bits| Field::Undeclared { module: module.clone(), record: record.clone(), mask: mask(bits) };
            fields.extend(groups.iter().map(of));
        }
    }
    Some(fields.into_iter().collect())
}

/// Bits written as the mask of each byte.
pub(super) fn mask(bytes: &HexBytes) -> BitMask {
    let mut mask = BitMask::none(bytes.len());
    bytes.as_slice().iter().enumerate().for_each(|(at, byte)| mask.insert(at, *byte));
    mask
}
