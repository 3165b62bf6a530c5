//! What `compare` shows.

use asfound_core::definition::AmbiguousDefinition;
use asfound_core::difference::{CodeComparison, Comparison, ComparisonVerdict, ModuleComparison, RecordComparison};
use asfound_core::names::ModuleName;
use asfound_core::sameness::Incomparable;
use asfound_core::trouble_code::{CodeGroups, ReportedCode, StatusChange};
use serde_json::{Value, json};
use similar::TextDiff;

use super::bytes_side_by_side::record_lines;
use super::moving::{moving_json, moving_text};
use super::shared::{ContentJson, counted, or_nothing, several_json, several_line, side_by_side};
use crate::setup::Screen;
use asfound_report::{NOTHING, Page, Table};

/// Two states side by side.
pub struct ComparisonScreen {
    /// What stands on the left: `wren entry 2`.
    pub found: String,
    /// What stands on the right.
    pub left: String,
    /// What differs.
    pub comparison: Comparison,
    /// Definitions whose text differs: name, text on the left, text on the right.
    pub definitions: Vec<(String, String, String)>,
    /// Whether to show definitions' differences line by line.
    pub show_definitions: bool,
}

impl Screen for ComparisonScreen {
    fn text(&self, page: &mut Page) {
        page.head(&["comparison", &self.found, &self.left]);
        let comparison = &self.comparison;
        let mut table = Table::new(["setting", &self.found, &self.left]);
        for module in &comparison.modules {
            for identity in module.identity.iter().filter(|part| part.doubt.is_none()) {
                table.row([
                    format!("{} {}", module.module, identity.what),
                    identity.found.clone(),
                    identity.left.clone(),
                ]);
            }
            for setting in &module.settings {
                let [found, left] = side_by_side(setting.found.as_ref(), setting.left.as_ref());
                table.row([format!("{}.{}", module.module, setting.setting), found, left]);
            }
        }
        if table.is_empty() {
            page.line("No setting differs.");
        } else {
            page.table(&table);
        }
        self.undecided(page);
        let raw: Vec<String> = comparison.modules.iter().flat_map(record_lines).collect();
        if !raw.is_empty() {
            page.part("Bytes that differ");
            raw.iter().for_each(|line| page.verbatim(line));
        }
        let several: Vec<&AmbiguousDefinition> = self.several().collect();
        if !several.is_empty() {
            page.gap();
            several.into_iter().for_each(|several| page.line(&several_line(several)));
        }
        moving_text(page, comparison);
        self.codes(page);
        self.verdicts(page);
        for (name, found, left) in &self.definitions {
            page.part(&format!("Definition {name} differs"));
            if self.show_definitions {
                let text = TextDiff::from_lines(found, left).unified_diff().context_radius(1).to_string();
                page.verbatim(&text);
            } else {
                page.line("`--definitions` shows it line by line");
            }
        }
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/comparison/1",
            "found": self.found,
            "left": self.left,
            "same": self.comparison.is_same(),
            "modules": self.comparison.modules.iter().map(module_json).collect::<Vec<_>>(),
            "several_definitions": several_json(self.several()),
            "definitions_differ": self.definitions.iter().map(|(name, ..)| name).collect::<Vec<_>>(),
        })
    }
}

impl ComparisonScreen {
    /// Modules that several definitions fit, on one side or the other.
    fn several(&self) -> impl Iterator<Item = &AmbiguousDefinition> {
        self.comparison.modules.iter().flat_map(|module| &module.several)
    }

    /// What may differ or not.
    fn undecided(&self, page: &mut Page) {
        let mut table = Table::new(["cannot be compared", &self.found, &self.left, "because"]);
        for module in &self.comparison.modules {
            for (part, why) in module.identity.iter().filter_map(|part| Some((part, part.doubt?))) {
                let what = format!("{} {}", module.module, part.what);
                table.row([what, part.found.clone(), part.left.clone(), why.to_string()]);
            }
            for setting in &module.settings_undecided {
                let [found, left] = side_by_side(Some(&setting.found), Some(&setting.left));
                table.row([format!("{}.{}", module.module, setting.setting), found, left, setting.why.to_string()]);
            }
        }
        if !table.is_empty() {
            page.gap();
            page.table(&table);
        }
    }

    fn codes(&self, page: &mut Page) {
        let mut table = Table::new(["trouble codes", "there before", "new", "gone"]);
        for module in &self.comparison.modules {
            let CodeComparison::Examined(groups) = &module.codes else { continue };
            if !groups.is_empty() {
                let module = module.module.to_string();
                table.row([module, code_list(&groups.there_before), code_list(&groups.new), code_list(&groups.gone)]);
            }
        }
        if !table.is_empty() {
            page.gap();
            page.table(&table);
            for module in &self.comparison.modules {
                let CodeComparison::Examined(groups) = &module.codes else { continue };
                status_lines(&module.module, groups).iter().for_each(|line| page.line(line));
            }
        }
        let unexamined = self.comparison.modules.iter().filter(|module| module.codes == CodeComparison::NotExamined);
        let unexamined: Vec<&str> = unexamined.map(|module| module.module.as_str()).collect();
        if !unexamined.is_empty() {
            page.gap();
            page.line(&not_examined(&unexamined, unexamined.len() == self.comparison.modules.len()));
        }
    }

    /// For every module, what was compared and found the same, and what was not.
    fn verdicts(&self, page: &mut Page) {
        let mut table = Table::new(["module", "same", "changed", "not read", "refused", "bytes compared", "volatile"]);
        for column in 1..=6 {
            table = table.figures(column);
        }
        for module in &self.comparison.modules {
            let count = |verdict| module.records.iter().filter(|record| record.verdict == verdict).count().to_string();
            let sum = |of: fn(&RecordComparison) -> usize| module.records.iter().map(of).sum::<usize>().to_string();
            table.row([
                module.module.to_string(),
                count(ComparisonVerdict::Same),
                count(ComparisonVerdict::Changed),
                count(ComparisonVerdict::NotRead),
                count(ComparisonVerdict::Refused),
                sum(|record| record.compared),
                sum(|record| record.volatile),
            ]);
        }
        page.part("Records, module by module");
        page.table(&table);
        let layout_changed: Vec<&str> = self
            .comparison
            .modules
            .iter()
            .filter(|module| module.definitions.0 != module.definitions.1 && module.known == (true, true))
            .map(|module| module.module.as_str())
            .collect();
        if let Some(carried) = carried(&self.comparison) {
            page.line(&format!("{carried} not read again in between, so nothing is said of them."));
        }
        if !layout_changed.is_empty() {
            page.line(&format!(
                "Laid out by another definition on each side, so compared by setting: {}",
                layout_changed.join(", ")
            ));
        }
    }
}

/// Codes of a module that merely changed their status.
pub fn status_lines(module: &ModuleName, groups: &CodeGroups) -> Vec<String> {
    let line = |change: &StatusChange| {
        let (before, after) = (or_nothing(change.before.as_ref()), or_nothing(change.after.as_ref()));
        format!("{module} {}: there before, status {before} -> {after}.", change.code)
    };
    groups.status_changed.iter().map(line).collect()
}

/// That modules were not scanned for trouble codes, which is not the same as having none.
pub fn not_examined(modules: &[&str], all: bool) -> String {
    if all {
        return "Trouble codes: not examined in any module.".to_owned();
    }
    format!("Trouble codes: not examined in {}.", modules.join(", "))
}

/// Codes that merely changed their status, in JSON.
pub fn status_changed_json(groups: &CodeGroups) -> Vec<Value> {
    let change = |change: &StatusChange| json!({ "code": change.code, "before": change.before, "after": change.after });
    groups.status_changed.iter().map(change).collect()
}

/// Trouble codes in a cell.
pub fn code_list(codes: &[ReportedCode]) -> String {
    if codes.is_empty() {
        return NOTHING.to_owned();
    }
    codes.iter().map(|reported| reported.code.to_string()).collect::<Vec<_>>().join(", ")
}

fn module_json(module: &ModuleComparison) -> Value {
    let verdict = |verdict: ComparisonVerdict| match verdict {
        ComparisonVerdict::Same => "same",
        ComparisonVerdict::Changed => "changed",
        ComparisonVerdict::NotRead => "not-read",
        ComparisonVerdict::Refused => "refused",
    };
    json!({
        "module": module.module,
        "definition_found": module.definitions.0,
        "definition_left": module.definitions.1,
        "identity": module.identity.iter()
            .map(|identity| json!({
                "what": identity.what,
                "found": identity.found,
                "left": identity.left,
                "undecided": identity.doubt.map(Incomparable::as_str),
            }))
            .collect::<Vec<_>>(),
        "settings": module.settings.iter().map(|setting| json!({
            "setting": format!("{}.{}", module.module, setting.setting),
            "found": setting.found.as_ref().map(ContentJson::of),
            "left": setting.left.as_ref().map(ContentJson::of),
        })).collect::<Vec<_>>(),
        "settings_undecided": module.settings_undecided.iter().map(|setting| json!({
            "setting": format!("{}.{}", module.module, setting.setting),
            "found": ContentJson::of(&setting.found),
            "left": ContentJson::of(&setting.left),
            "why": setting.why.as_str(),
        })).collect::<Vec<_>>(),
        "settings_compared": module.settings_compared,
        "settings_not_read": module.settings_not_read,
        "records": module.records.iter().map(|record| json!({
            "record": record.record,
            "verdict": verdict(record.verdict),
            "bytes_compared": record.compared,
            "bytes_volatile": record.volatile,
            "found": record.found,
            "left": record.left,
            "undeclared_bits": record.undeclared.to_string(),
            "unclear_bits": record.unclear.to_string(),
            "moving": moving_json(record),
            "layout_changed": record.layout_changed,
        })).collect::<Vec<_>>(),
        "trouble_codes": match &module.codes {
            CodeComparison::NotExamined => json!(null),
            CodeComparison::Examined(groups) => json!({
                "there_before": groups.there_before,
                "new": groups.new,
                "gone": groups.gone,
                "status_changed": status_changed_json(groups),
            }),
        },
    })
}

/// What only one side knows, for the exit code's message; nothing when both know the same.
pub fn one_sided(comparison: &Comparison) -> Option<String> {
    let records = not_read(comparison).filter(|record| record.found.is_none() || record.left.is_none()).count();
    // A setting whose record was not read is counted with its record.
    let settings: usize = match records {
        0 => comparison.modules.iter().map(|module| module.settings_not_read.len()).sum(),
        _ => 0,
    };
    match (records, settings) {
        (0, 0) => None,
        (0, settings) => Some(format!("{} known on one side only", counted(settings, "setting is", "settings are"))),
        (records, _) => Some(format!("{} known on one side only", counted(records, "record is", "records are"))),
    }
}

/// How many records were not read again between the two moments, in words; nothing where there are none.
pub fn carried(comparison: &Comparison) -> Option<String> {
    match not_read(comparison).filter(|record| record.found.is_some() && record.left.is_some()).count() {
        0 => None,
        records => Some(counted(records, "record was", "records were")),
    }
}

fn not_read(comparison: &Comparison) -> impl Iterator<Item = &RecordComparison> {
    let records = comparison.modules.iter().flat_map(|module| &module.records);
    records.filter(|record| record.verdict == ComparisonVerdict::NotRead)
}

/// How many records differ, for the exit code's message.
pub fn differences(comparison: &Comparison) -> String {
    let settings: usize = comparison.modules.iter().map(|module| module.settings.len()).sum();
    format!(
        "{} and {} differ",
        counted(settings, "setting", "settings"),
        counted(comparison.count(ComparisonVerdict::Changed), "record", "records")
    )
}
