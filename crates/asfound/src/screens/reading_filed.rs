//! What filing a reading shows.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use asfound_core::definition::AmbiguousDefinition;
use asfound_core::difference::{Comparison, ComparisonVerdict, compare, identity_differences};
use asfound_core::entry::{Body, Entry, IdentityEffect, ReadingBody};
use asfound_core::examination::{MissingItem, ReadingRemark};
use asfound_core::history::{Field, History, Origin, Proof, Transition};
use asfound_core::names::{DefinitionId, EntryNumber, ModuleName, Tag};
use asfound_core::sameness::Incomparable;
use asfound_core::state::State;
use asfound_journal::journal::AppendedEntry;
use serde_json::{Value, json};

use super::bytes_side_by_side::record_lines;
use super::codes_read::CodesRead;
use super::moving::{moving_json, moving_text};
use super::shared::{
    ContentJson, counted, entry_json, entry_when, or_nothing, origin_json, origin_text, side_by_side, timing_text,
};
use crate::failure::Failure;
use crate::setup::{DefinedJournal, Screen};
use asfound_report::{Page, Table, date, date_and_time};

/// A reading that was filed.
pub struct ReadingFiled {
    tag: Tag,
    entry: Entry,
    headline: String,
    reading: ReadingBody,
    differences: Vec<(Field, Transition)>,
    read_back: Vec<(Field, EntryNumber)>,
    first_known: usize,
    identities: Vec<IdentityLine>,
    verdicts: Option<[usize; 2]>,
    raw: Vec<String>,
    comparison: Comparison,
    codes: CodesRead,
    windows: Vec<String>,
    remarks: Vec<ReadingRemark>,
    missing: Vec<MissingItem>,
    told: Vec<String>,
    /// What is worth saying of the exchange with the car, where the program read it itself.
    pub exchange: Option<Vec<String>>,
}

impl ReadingFiled {
    /// The screen for it; `before` is the state that the reading was held against.
    ///
    /// # Errors
    /// When the journal cannot be looked at again.
    pub fn new(
        known: &DefinedJournal,
        before: &State,
        filed: &AppendedEntry,
        remarks: Vec<ReadingRemark>,
        missing: Vec<MissingItem>,
        told: Vec<String>,
    ) -> Result<Self, Failure> {
        let number = filed.entry.number;
        let Body::Reading(reading) = filed.entry.body.clone() else {
            return Err(Failure::damaged(format!("entry {number} is not a reading")));
        };
        let history = &filed.history;
        let (first, differences): (Vec<_>, Vec<_>) = history
            .transitions_of(number)
            .map(|(field, step)| (field.clone(), step.clone()))
            .partition(|(_, step)| step.origin == Origin::FirstKnown);
        let read_back = history
            .timelines()
            .iter()
            .flat_map(|(field, timeline)| timeline.transitions().iter().map(move |step| (field, step.entry)))
            .filter(|(field, entry)| history.proof(field, *entry) == Some(Proof::ReadBack(number)))
            .map(|(field, entry)| (field.clone(), entry))
            .collect();
        let altered = differences.iter().filter(|(_, step)| matches!(step.origin, Origin::AnotherHand(_)));
        let replaced = reading.effects.identities.iter().filter(|effect| effect.found.differs_from(&effect.left));
        let hands: BTreeSet<&ModuleName> =
            altered.map(|(field, _)| field.module()).chain(replaced.map(|effect| &effect.module)).collect();
        let codes = CodesRead::new(known, before, &reading);
        let ReadingComparison { verdicts, raw, comparison } = compared(known, &reading, before, history);
        Ok(Self {
            tag: known.tag.clone(),
            headline: history.headline(&filed.entry),
            windows: windows(known, &filed.entry, &reading, &hands),
            entry: filed.entry.clone(),
            identities: identities(&reading),
            reading,
            differences,
            read_back,
            first_known: first.len(),
            verdicts,
            raw,
            comparison,
            codes,
            remarks,
            missing,
            told,
            exchange: None,
        })
    }
}

/// What a reading shows beside what was known before.
#[derive(Default)]
struct ReadingComparison {
    verdicts: Option<[usize; 2]>,
    raw: Vec<String>,
    comparison: Comparison,
}

/// Of the records that the reading gave and that were known before: how many are the same and how many changed; and the
/// bytes of those that changed.
fn compared(known: &DefinedJournal, reading: &ReadingBody, before: &State, after: &History) -> ReadingComparison {
    if before.modules.is_empty() {
        return ReadingComparison::default();
    }
    let definitions = &known.definitions;
    let mut comparison = compare(before, after.state(), definitions, definitions, after.movements());
    for module in &mut comparison.modules {
        let covered = reading.covered.get(&module.module);
        // A value can move a record that was not itself read, so what changed is shown either way.
        module.records.retain(|record| {
            record.verdict == ComparisonVerdict::Changed
                || covered.is_some_and(|covered| covered.records.contains(&record.record))
        });
    }
    let raw = comparison.modules.iter().flat_map(record_lines).collect();
    let verdicts = Some([comparison.count(ComparisonVerdict::Same), comparison.count(ComparisonVerdict::Changed)]);
    ReadingComparison { verdicts, raw, comparison }
}

impl ReadingFiled {
    /// How many records and settings it tells late: what is known of them stays.
    fn known_later(&self) -> [usize; 2] {
        let late = self.reading.late.values();
        late.fold([0, 0], |[records, settings], late| [records + late.records.len(), settings + late.settings.len()])
    }
}

/// A part of a module's identity that is another one than before, or may be.
pub struct IdentityLine {
    module: ModuleName,
    what: &'static str,
    found: String,
    left: String,
    undecided: Option<Incomparable>,
}

impl fmt::Display for IdentityLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} {} -> {}", self.module, self.what, self.found, self.left)?;
        self.undecided.map_or(Ok(()), |why| write!(f, " (cannot be compared: {why})"))
    }
}

impl IdentityLine {
    /// The line in JSON.
    pub fn json(&self) -> Value {
        json!({
            "module": self.module,
            "what": self.what,
            "found": self.found,
            "left": self.left,
            "undecided": self.undecided.map(Incomparable::as_str),
        })
    }
}

/// What a reading found different in modules' identities.
pub fn identities(reading: &ReadingBody) -> Vec<IdentityLine> {
    let of_effect = |effect: &IdentityEffect| {
        let module = effect.module.clone();
        let parts = identity_differences(&effect.found, &effect.left).into_iter();
        parts.map(move |part| IdentityLine {
            module: module.clone(),
            what: part.what,
            found: part.found,
            left: part.left,
            undecided: part.doubt,
        })
    };
    reading.effects.identities.iter().flat_map(of_effect).collect()
}

fn missing_json(item: &MissingItem) -> Value {
    match item {
        MissingItem::Module(module) => json!({ "module": module, "record": null, "setting": null }),
        MissingItem::Record(module, record) => json!({ "module": module, "record": record, "setting": null }),
        MissingItem::Setting(module, setting) => json!({ "module": module, "record": null, "setting": setting }),
    }
}

/// Between which readings another hand was there: for each module, since it was last read.
fn windows(
    known: &DefinedJournal,
    entry: &Entry,
    reading: &ReadingBody,
    modules: &BTreeSet<&ModuleName>,
) -> Vec<String> {
    let mut last_read: BTreeMap<&ModuleName, EntryNumber> = BTreeMap::new();
    // An entry that cannot be read any more tells of no window.
    for filed in known.journal().each(&known.index).map_while(Result::ok) {
        if let Body::Reading(reading) = &filed.entry.body {
            let covered = modules.iter().filter(|module| reading.covered.contains_key(**module));
            last_read.extend(covered.map(|module| (*module, filed.entry.number)));
        }
    }
    let mut since: BTreeMap<EntryNumber, Vec<&str>> = BTreeMap::new();
    for module in modules {
        if let Some(last) = last_read.get(module) {
            since.entry(*last).or_default().push(module.as_str());
        }
    }
    let told = since.into_iter().filter_map(|(number, modules)| {
        let last = known.entry(number).ok()?.entry;
        let Body::Reading(before) = &last.body else { return None };
        // Within one day only the times tell anything.
        let when = if last.happened.date() == entry.happened.date() { date_and_time } else { date };
        let (from, to) = (when(last.happened), when(entry.happened));
        let mut text = format!("{}: between {from} (entry {number}) and {to}", modules.join(", "));
        if let (Some(from), Some(to)) = (before.odometer_km, reading.odometer_km) {
            text.push_str(&format!(", {from} km and {to} km"));
        }
        Some(text)
    });
    told.collect()
}

/// The remarks in words; modules that no definition fits share one line.
fn remark_lines(remarks: &[ReadingRemark]) -> Vec<String> {
    let unexplained: Vec<&str> = remarks
        .iter()
        .filter_map(|remark| match remark {
            ReadingRemark::NoDefinition(module) => Some(module.as_str()),
            _ => None,
        })
        .collect();
    let mut lines = Vec::new();
    if !unexplained.is_empty() {
        let modules = unexplained.join(", ");
        lines.push(format!("no definition fits {modules}: what was said is kept as it is, and not explained"));
    }
    lines.extend(remarks.iter().filter(|r| !matches!(r, ReadingRemark::NoDefinition(_))).map(remark_text));
    lines
}

/// That several definitions fit a module, as a remark.
fn several_remark(AmbiguousDefinition { module, ids }: &AmbiguousDefinition) -> String {
    let ids: Vec<&str> = ids.iter().map(DefinitionId::as_str).collect();
    format!("several definitions fit {module} ({}): what it said is kept as it is, and not explained", ids.join(", "))
}

/// A remark in words.
pub fn remark_text(remark: &ReadingRemark) -> String {
    match remark {
        ReadingRemark::NoDefinition(module) => {
            format!("no definition fits {module}: what it said is kept as it is, and not explained")
        }
        ReadingRemark::SeveralDefinitions(several) => several_remark(several),
        ReadingRemark::Checksum(module, record) => {
            format!("{module} record {record}: the checksum does not fit the other bytes")
        }
        ReadingRemark::NoMeaning(module, setting, coded) => {
            format!("{module}.{setting}: the coded value {coded} has no meaning in the definition")
        }
        ReadingRemark::NotPermitted(module, setting, value) => {
            format!("{module}.{setting}: the definition does not permit {value}; it is kept as it was read")
        }
        ReadingRemark::Timing(remark) => timing_text(*remark),
        ReadingRemark::OdometerBack { now, before, entry } => {
            format!("the odometer shows {now} km, it was {before} km in entry {entry}")
        }
        ReadingRemark::ImplausibleCode { module, code, against, because, .. } => {
            format!("{module} {code} is not plausible as it was read, because {against}: {because}")
        }
        ReadingRemark::LowVoltage => {
            "the supply voltage was below 12 V: support it and read again before trusting trouble codes".to_owned()
        }
    }
}

impl Screen for ReadingFiled {
    fn text(&self, page: &mut Page) {
        let number = format!("entry {}", self.entry.number);
        let role = format!("reading {}", self.reading.role);
        page.head(&[self.tag.as_str(), &number, &role, &entry_when(&self.entry)]);
        page.pair("odometer", &self.reading.odometer_km.map_or("–".to_owned(), |km| format!("{km} km")));
        let volts = self.reading.supply_voltage.as_ref().map(|volts| format!("{volts} V"));
        page.pair("supply voltage", &or_nothing(volts.as_ref()));
        page.pair("taken with", &or_nothing(self.reading.tool.as_ref()));
        page.pair("covers", &covers(&self.reading));
        for line in &self.told {
            page.pair("table", line);
        }
        // A reading by value alone gives no record, and a count of none would say nothing.
        if let Some([same, changed]) = self.verdicts.filter(|counts| *counts != [0, 0]) {
            page.pair("records", &format!("{same} same, {changed} changed, of those known before"));
        }

        if self.differences.is_empty() && self.identities.is_empty() && self.verdicts.is_some() {
            page.gap();
            page.line(if self.known_later() == [0, 0] {
                "Nothing differs from the last known state."
            } else {
                "Nothing differs from what was known of that moment."
            });
        }
        let [records, settings] = self.known_later();
        if records + settings > 0 {
            let told = [(records, ["record", "records"]), (settings, ["setting", "settings"])];
            let told = told.into_iter().filter(|(count, _)| *count > 0);
            let told: Vec<String> = told.map(|(count, [one, many])| counted(count, one, many)).collect();
            page.gap();
            page.line(&format!("Told late: {}. What may be known from later stays as it is.", told.join(" and ")));
        }
        if !self.identities.is_empty() {
            page.part("Another hand: modules are not what they were");
            self.identities.iter().for_each(|line| page.item(&line.to_string()));
        }
        if !self.differences.is_empty() {
            let mut table = Table::new(["setting", "as found", "now", "accounted for by"]);
            for (field, step) in &self.differences {
                let [found, left] = side_by_side(step.found.as_ref(), Some(&step.left));
                let field = field.altered(step.found.as_ref(), Some(&step.left));
                table.row([field, found, left, origin_text(step.origin)]);
            }
            page.part("Differs from the last known state");
            page.table(&table);
        }
        if !self.windows.is_empty() {
            page.part("When another hand was there");
            self.windows.iter().for_each(|window| page.item(window));
        }
        if !self.raw.is_empty() {
            page.part("Bytes that differ");
            self.raw.iter().for_each(|line| page.verbatim(line));
        }
        moving_text(page, &self.comparison);
        self.codes.text(page);
        if !self.read_back.is_empty() {
            page.part("Read back");
            for (field, entry) in &self.read_back {
                page.item(&format!("{field}: as entry {entry} left it"));
            }
        }
        if let Some(exchange) = self.exchange.as_ref().filter(|exchange| !exchange.is_empty()) {
            page.part("While the car was read");
            exchange.iter().for_each(|line| page.item(line));
        }
        if !self.missing.is_empty() {
            page.part("Not read this time; the last content is kept");
            let names: Vec<String> = self.missing.iter().map(ToString::to_string).collect();
            page.line(&names.join(", "));
        }
        if !self.remarks.is_empty() {
            page.gap();
            remark_lines(&self.remarks).iter().for_each(|line| page.remark(line));
        }
        page.gap();
        let first = match self.first_known {
            0 => String::new(),
            count => format!(" {} known for the first time.", counted(count, "setting is", "settings are")),
        };
        page.line(&format!("Filed as entry {}.{first}", self.entry.number));
    }

    fn json(&self) -> Value {
        let mut entry = entry_json(&self.entry, &self.headline);
        entry["reading"] = json!({
            "role": self.reading.role,
            "partial": self.reading.partial,
            "odometer_km": self.reading.odometer_km,
            "supply_voltage": self.reading.supply_voltage,
            "tool": self.reading.tool,
            "by": self.reading.by,
        });
        json!({
            "schema": "asfound/reading-filed/1",
            "vehicle": self.tag,
            "entry": entry,
            "differences": self.differences.iter().map(|(field, step)| json!({
                "field": field.to_string(),
                "found": step.found.as_ref().map(ContentJson::of),
                "left": ContentJson::of(&step.left),
                "origin": origin_json(step.origin),
            })).collect::<Vec<_>>(),
            "identities": self.identities.iter().map(IdentityLine::json).collect::<Vec<_>>(),
            "another_hand_between": self.windows,
            "read_back": self.read_back.iter()
                .map(|(field, entry)| json!({ "field": field.to_string(), "entry": entry }))
                .collect::<Vec<_>>(),
            "first_known": self.first_known,
            "records_same": self.verdicts.map(|verdicts| verdicts[0]),
            "records_changed": self.verdicts.map(|verdicts| verdicts[1]),
            "left_out": self.comparison.modules.iter().flat_map(|module| {
                let moving = module.records.iter().filter(|record| !record.moving.is_empty());
                moving.map(|record| json!({
                    "module": module.module, "record": record.record, "moving": moving_json(record),
                }))
            }).collect::<Vec<_>>(),
            "trouble_codes": self.codes.json(),
            "codes_not_examined": self.codes.not_examined,
            "common_circumstance": self.codes.circumstance_json(),
            "exchange": self.exchange,
            "not_read": self.missing.iter().map(missing_json).collect::<Vec<_>>(),
            "remarks": self.remarks.iter().map(remark_text).collect::<Vec<_>>(),
        })
    }
}

/// What a reading covers, in a line.
pub fn covers(reading: &ReadingBody) -> String {
    let covered = || reading.covered.values();
    let records: usize = covered().map(|module| module.records.len()).sum();
    let settings: usize = covered().map(|module| module.settings.len()).sum();
    let refused: usize = covered().map(|module| module.refused.len()).sum();
    let scanned = covered().filter(|module| module.trouble_codes.is_some()).count();
    let codes: usize = covered().filter_map(|module| module.trouble_codes.as_ref()).map(Vec::len).sum();
    let mut text = counted(reading.covered.len(), "module", "modules");
    for (count, one, many) in [
        (records, "record", "records"),
        (settings, "setting by value", "settings by value"),
        (refused, "record refused", "records refused"),
    ] {
        if count > 0 {
            text.push_str(&format!(", {}", counted(count, one, many)));
        }
    }
    if scanned > 0 {
        let codes = counted(codes, "trouble code", "trouble codes");
        text.push_str(&format!(", {codes} in {}", counted(scanned, "module scanned", "modules scanned")));
    }
    if reading.partial {
        text.push_str("; partial");
    }
    text
}
