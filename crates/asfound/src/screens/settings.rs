//! What `settings` shows.

use std::collections::BTreeMap;

use asfound_core::definition::{AmbiguousDefinition, SettingDefinition};
use asfound_core::difference::{Content, ModuleSnapshot, settings_of};
use asfound_core::entry::StepPlace;
use asfound_core::history::{ContentStatus, Field, History, OpenStep};
use asfound_core::moment::StatedTime;
use asfound_core::names::{EntryNumber, ModuleName, RecordName, SettingPath, Tag};
use asfound_core::trial::{JournalTrials, TrialState};
use asfound_core::value::{HexBytes, Value as Setting};
use serde_json::{Value, json};
use time::OffsetDateTime;

use super::shared::{
    ContentJson, counted, moment, open_step_json, open_step_text, several_json, several_line, standing_json,
    standing_text, trial_json, trial_text, when,
};
use crate::failure::Failure;
use crate::setup::{Screen, TracedJournal};
use asfound_report::{NOTHING, Page, Table, date};

struct Line {
    path: SettingPath,
    label: Option<String>,
    content: Content,
    standing: Option<ContentStatus>,
    trial: Option<TrialState>,
    factory: Option<Setting>,
    read: Option<OffsetDateTime>,
    /// The entry that left it in doubt.
    in_doubt: Option<EntryNumber>,
}

/// Every setting as last known.
pub struct SettingsScreen {
    tag: Tag,
    at: EntryNumber,
    as_of: Option<StatedTime>,
    happened: OffsetDateTime,
    lines: Vec<Line>,
    unexplained: Vec<(ModuleName, RecordName, HexBytes)>,
    several: Vec<AmbiguousDefinition>,
    open_steps: Vec<OpenStep>,
    only_altered: bool,
}

impl SettingsScreen {
    /// The screen for them.
    ///
    /// # Errors
    /// When an entry cannot be read.
    pub fn new(
        known: &TracedJournal,
        at: EntryNumber,
        as_of: Option<StatedTime>,
        only: Option<&ModuleName>,
        only_altered: bool,
    ) -> Result<Self, Failure> {
        let history: &History = &known.history;
        let (mut lines, mut unexplained, mut several) = (Vec::new(), Vec::new(), Vec::new());
        let trials = known.trials(Some(at))?;
        let trials = trials.with(history);
        let mut taken: BTreeMap<EntryNumber, Option<OffsetDateTime>> = BTreeMap::new();
        for (name, module) in &history.state().modules {
            if only.is_some_and(|only| only != name) {
                continue;
            }
            let fitting = known.definitions.fitting(name, &module.identity);
            several.extend(fitting.as_ref().err().cloned());
            let definition = fitting.ok().flatten();
            let side = ModuleSnapshot { module, definition };
            for setting in settings_of(side) {
                let Some(content) = side.content(&setting) else { continue };
                let path = SettingPath { module: name.clone(), setting };
                let field = Field::Setting(path.clone());
                if only_altered && !history.timeline(&field).is_some_and(|timeline| timeline.ever_altered()) {
                    continue;
                }
                let defined = definition.and_then(|definition| definition.setting(&path.setting));
                let last = history.last_reading_of(&field);
                let record = defined.map(|setting| StepPlace::Record(name.clone(), setting.record().clone()));
                let steps = history.open_steps();
                let open = record.and_then(|record| steps.at(&record));
                let open = open.or_else(|| steps.at(&StepPlace::Setting(path.clone())));
                lines.push(Line {
                    label: defined.map(|setting| setting.label().to_owned()),
                    factory: defined.and_then(SettingDefinition::factory).cloned(),
                    trial: history.standing(&field).and_then(|standing| trial_of(standing, &trials)),
                    standing: history.standing(&field),
                    read: last.and_then(|reading| {
                        let happened = || Some(known.entry(reading).ok()?.entry.happened);
                        *taken.entry(reading).or_insert_with(happened)
                    }),
                    in_doubt: open.map(|open| open.entry),
                    content,
                    path,
                });
            }
            let records = module.records.iter();
            let records = records.filter(|(record, _)| definition.and_then(|d| d.record(record)).is_none());
            unexplained.extend(records.map(|(record, known)| (name.clone(), record.clone(), known.bytes.clone())));
        }
        let happened = known.entry(at)?.entry.happened;
        let here = |open: &&OpenStep| only.is_none_or(|only| only == open.place.module());
        let open_steps = history.open_steps().open().filter(here).cloned().collect();
        let tag = known.tag.clone();
        Ok(Self { tag, at, as_of, happened, lines, unexplained, several, open_steps, only_altered })
    }
}

/// The trial of the work that brought a setting's present value.
fn trial_of(standing: ContentStatus, trials: &JournalTrials<'_>) -> Option<TrialState> {
    match standing {
        ContentStatus::Altered { by, .. } => trials.of(by),
        _ => None,
    }
}

/// How a value is known, and whether it is on trial.
fn proven(line: &Line) -> String {
    let standing = line.standing.map_or_else(|| NOTHING.to_owned(), standing_text);
    let doubt = line.in_doubt.map(|entry| format!("in doubt since entry {entry}"));
    let trial = line.trial.as_ref().and_then(trial_text);
    [doubt, Some(standing), trial].into_iter().flatten().collect::<Vec<_>>().join("; ")
}

impl Screen for SettingsScreen {
    fn text(&self, page: &mut Page) {
        match self.as_of {
            Some(at) => page.head(&[self.tag.as_str(), "settings as they were", &when(at)]),
            None => {
                let at = format!("settings after entry {}", self.at);
                page.head(&[self.tag.as_str(), &at, &date(self.happened)]);
            }
        }
        if self.lines.is_empty() {
            page.line(if self.only_altered { "No setting was ever altered." } else { "No setting is known yet." });
        } else {
            let mut table = Table::new(["setting", "value", "factory", "proven"]);
            for line in &self.lines {
                table.row([
                    line.path.to_string(),
                    line.content.to_string(),
                    match &line.factory {
                        Some(factory) if Some(factory) == line.content.value() => "same".to_owned(),
                        Some(factory) => factory.to_string(),
                        None => NOTHING.to_owned(),
                    },
                    proven(line),
                ]);
            }
            page.table(&table);
            page.gap();
            page.line(&format!("{}.", counted(self.lines.len(), "setting", "settings")));
        }
        self.open_steps.iter().for_each(|doubt| page.alarm(&open_step_text(doubt)));
        if !self.unexplained.is_empty() {
            let names: Vec<String> =
                self.unexplained.iter().map(|(module, record, _)| format!("{module} record {record}")).collect();
            page.line(&format!("Kept as bytes, explained by no definition: {}.", names.join(", ")));
        }
        for several in &self.several {
            page.line(&several_line(several));
            let of_module = self.unexplained.iter().filter(|(module, ..)| *module == several.module);
            of_module.for_each(|(_, record, bytes)| page.verbatim(&format!("{record}: {bytes}")));
        }
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/settings/1",
            "vehicle": self.tag,
            "after_entry": self.as_of.is_none().then_some(self.at),
            "as_of": self.as_of.map(|at| at.to_string()),
            "settings": self.lines.iter().map(|line| json!({
                "setting": line.path,
                "label": line.label,
                "content": ContentJson::of(&line.content),
                "factory": line.factory.as_ref().map(ToString::to_string),
                "standing": line.standing.map(standing_json),
                "trial": trial_json(line.trial.as_ref()),
                "last_read": line.read.map(moment),
                "in_doubt": line.in_doubt,
            })).collect::<Vec<_>>(),
            "in_doubt": self.open_steps.iter().map(open_step_json).collect::<Vec<_>>(),
            "records_unexplained": self.unexplained.iter()
                .map(|(module, record, bytes)| json!({ "module": module, "record": record, "bytes": bytes }))
                .collect::<Vec<_>>(),
            "several_definitions": several_json(&self.several),
        })
    }
}
