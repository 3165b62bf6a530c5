//! What `definition` shows.

use std::path::PathBuf;

use asfound_core::definition::{AppliesTo, DefinitionSet};
use asfound_core::difference::{ReinterpretedSetting, ShownSetting};
use asfound_core::document::{Problem, Severity};
use asfound_core::names::{DefinitionId, SettingPath, Tag};
use serde_json::{Value, json};

use super::shared::counted;
use crate::setup::Screen;
use asfound_report::{NOTHING, Page, Table};

/// One examined file.
pub struct CheckedFile {
    /// The file.
    pub path: PathBuf,
    /// What is wrong with it.
    pub problems: Vec<Problem>,
}

/// Examined definition files.
pub struct CheckScreen {
    /// The files.
    pub files: Vec<CheckedFile>,
}

impl Screen for CheckScreen {
    fn text(&self, page: &mut Page) {
        for file in &self.files {
            for problem in &file.problems {
                page.line(&format!("{}: {}: {problem}", file.path.display(), problem.level));
                if let Some(hint) = problem.hint() {
                    page.item(&format!("hint: {hint}"));
                }
            }
        }
        let count = |level: Severity| self.files.iter().flat_map(|f| &f.problems).filter(|p| p.level == level).count();
        let (errors, warnings) = (count(Severity::Error), count(Severity::Warning));
        page.gap();
        page.line(&format!(
            "{}: {}, {}.",
            counted(self.files.len(), "file", "files"),
            counted(errors, "error", "errors"),
            counted(warnings, "warning", "warnings")
        ));
    }

    fn json(&self) -> Value {
        let problem = |problem: &Problem| {
            json!({
                "level": problem.level.to_string(),
                "line": problem.place.map(|place| place.line),
                "column": problem.place.map(|place| place.column),
                "at": problem.at,
                "message": problem.message,
                "hint": problem.hint,
            })
        };
        json!({
            "schema": "asfound/definition-check/1",
            "files": self.files.iter().map(|file| json!({
                "file": file.path,
                "problems": file.problems.iter().map(problem).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        })
    }
}

/// Definitions that were taken in.
pub struct KeptScreen {
    /// The folder.
    pub folder: String,
    /// Their names and where they lie.
    pub files: Vec<(DefinitionId, String)>,
    /// Which of them fit modules that others fit, too.
    pub overlaps: Vec<String>,
    /// What reads otherwise than before.
    pub otherwise: ReadOtherwise,
}

impl Screen for KeptScreen {
    fn text(&self, page: &mut Page) {
        page.line(&format!("Kept in {}:", self.folder));
        for (id, _) in &self.files {
            page.item(id.as_str());
        }
        for overlap in &self.overlaps {
            page.remark(&format!("{overlap}: where both fit, neither explains the module"));
        }
        if let Some((first, rest)) = self.otherwise.lines().split_first() {
            page.gap();
            page.line(first);
            rest.iter().for_each(|line| page.item(line));
        }
        if let Some(line) = self.otherwise.named_line() {
            page.gap();
            page.line(&line);
        }
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/definitions-kept/1",
            "kept": self.files.iter().map(|(id, path)| json!({ "id": id, "file": path })).collect::<Vec<_>>(),
            "overlaps": self.overlaps,
            "settings_named": self.otherwise.named,
            "read_otherwise": self.otherwise.json(),
        })
    }
}

/// How many settings that read otherwise are shown one by one.
const SHOWN: usize = 20;

/// Settings that read otherwise when definitions are kept.
#[derive(Debug, Default)]
pub struct ReadOtherwise {
    changed: Vec<(Tag, SettingPath, ReinterpretedSetting)>,
    vehicles: usize,
    /// How many settings get a name that had none.
    named: usize,
}

impl ReadOtherwise {
    /// Takes in those of one vehicle.
    pub fn add(&mut self, tag: &Tag, redefined: Vec<(SettingPath, ReinterpretedSetting)>) {
        let (changed, named): (Vec<_>, Vec<_>) = redefined.into_iter().partition(|(_, one)| one.takes_away());
        self.named += named.len();
        self.vehicles += usize::from(!changed.is_empty());
        self.changed.extend(changed.into_iter().map(|(path, one)| (tag.clone(), path, one)));
    }

    /// Whether anything that was read until now reads otherwise.
    pub fn takes_away(&self) -> bool {
        !self.changed.is_empty()
    }

    /// What there is to say, the first line a sentence.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if self.takes_away() {
            let settings = counted(self.changed.len(), "setting", "settings");
            let vehicles = counted(self.vehicles, "vehicle", "vehicles");
            let verb = if self.changed.len() == 1 { "reads" } else { "read" };
            lines.push(format!("{settings} of {vehicles} {verb} otherwise than before:"));
            lines.extend(self.changed.iter().take(SHOWN).map(changed_text));
            let more = self.changed.len().saturating_sub(SHOWN);
            lines.extend((more > 0).then(|| format!("and {more} more")));
        }
        lines
    }

    /// That settings get names that had none, which nobody has to be asked about.
    fn named_line(&self) -> Option<String> {
        let named = counted(self.named, "setting has a name", "settings have names");
        (self.named > 0).then(|| format!("{named} that had none until now."))
    }

    fn json(&self) -> Vec<Value> {
        let reads = |reads: &Option<ShownSetting>| {
            reads.as_ref().map(|reads| json!({ "label": reads.label, "value": reads.value }))
        };
        let one = |(tag, path, one): &(Tag, SettingPath, ReinterpretedSetting)| json!({ "vehicle": tag, "setting": path, "before": reads(&one.before), "after": reads(&one.after) });
        self.changed.iter().map(one).collect()
    }
}

fn changed_text((tag, path, one): &(Tag, SettingPath, ReinterpretedSetting)) -> String {
    let value =
        |reads: &Option<ShownSetting>| reads.as_ref().map_or_else(|| "no name".to_owned(), |reads| reads.value.clone());
    match (&one.before, &one.after) {
        (Some(ShownSetting { label: Some(was), value: a }), Some(ShownSetting { label: Some(is), value: b }))
            if a == b =>
        {
            format!("{tag} {path}: {a}, \"{was}\" is called \"{is}\"")
        }
        (before, after) => format!("{tag} {path}: {}, was {}", value(after), value(before)),
    }
}

/// The garage's definitions.
pub struct DefinitionList {
    /// They.
    pub definitions: DefinitionSet,
}

fn conditions(applies: &AppliesTo) -> String {
    let mut parts = Vec::new();
    let list = |patterns: &[asfound_core::definition::Pattern]| {
        patterns.iter().map(|pattern| pattern.as_str()).collect::<Vec<_>>().join(" or ")
    };
    if !applies.part_number().is_empty() {
        parts.push(format!("part {}", list(applies.part_number())));
    }
    if !applies.hardware().is_empty() {
        parts.push(format!("hardware {}", list(applies.hardware())));
    }
    if let Some(range) = applies.software() {
        for (word, end) in [("from", range.from()), ("below", range.below()), ("up to", range.up_to())] {
            if let Some(end) = end {
                parts.push(format!("software {word} {end}"));
            }
        }
    }
    if parts.is_empty() { NOTHING.to_owned() } else { parts.join(", ") }
}

impl Screen for DefinitionList {
    fn text(&self, page: &mut Page) {
        if self.definitions.is_empty() {
            page.line("The garage has no definitions. Take one in with: asfound definition keep FILE");
            return;
        }
        let mut table = Table::new(["definition", "module", "fits", "settings", "title"]).figures(3);
        for definition in self.definitions.iter() {
            table.row([
                definition.id().to_string(),
                definition.module().to_string(),
                conditions(definition.applies_to()),
                definition.settings().len().to_string(),
                definition.title().to_owned(),
            ]);
        }
        page.table(&table);
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/definitions/1",
            "definitions": self.definitions.iter().map(|definition| json!({
                "id": definition.id(),
                "module": definition.module(),
                "fits": conditions(definition.applies_to()),
                "title": definition.title(),
                "settings": definition.settings().len(),
                "records": definition.records().len(),
                "rules": definition.rules().len(),
            })).collect::<Vec<_>>(),
        })
    }
}
