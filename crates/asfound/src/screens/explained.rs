//! What `explain` shows.

use asfound_core::definition::{Definition, DefinitionSet, Permitted, Rule, RuleKind, SettingDefinition};
use asfound_core::names::DefinitionId;
use asfound_core::safety::SafetyClass;
use serde_json::{Value, json};

use super::shared::{counted, or_nothing};
use crate::setup::Screen;
use asfound_report::{NOTHING, Page, Table};

/// One setting as one definition has it.
#[derive(Clone)]
pub struct ExplainScreen {
    definition: DefinitionId,
    definition_title: String,
    setting: SettingDefinition,
    record_class: SafetyClass,
    record_label: String,
    rules: Vec<Rule>,
    module_cautions: Vec<String>,
}

impl ExplainScreen {
    /// The setting with the record that holds it and the rules that name it.
    pub fn new(definitions: &DefinitionSet, definition: &Definition, setting: &SettingDefinition) -> Self {
        let record = definition.record(setting.record());
        let rules = definitions.iter().flat_map(|other| other.rules());
        Self {
            definition: definition.id().clone(),
            definition_title: definition.title().to_owned(),
            setting: setting.clone(),
            record_class: record.map_or(setting.class(), |record| record.class().max(setting.class())),
            record_label: record.map(|record| record.label().to_owned()).unwrap_or_default(),
            rules: rules.filter(|rule| rule.settings().contains(setting.path())).cloned().collect(),
            module_cautions: definition.cautions().to_vec(),
        }
    }

    /// The setting's full name.
    pub fn path(&self) -> String {
        self.setting.path().to_string()
    }

    /// Its label.
    pub fn label(&self) -> &str {
        self.setting.label()
    }

    /// What it may be, in a few words.
    fn values(&self) -> String {
        match self.setting.permitted() {
            Permitted::Range { min, max } => format!("{min} to {max}"),
            Permitted::List(values) => values.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
            Permitted::Any => {
                let choices = self.setting.layout().choices();
                match (choices.is_empty(), self.setting.layout().limits()) {
                    (false, _) => choices.join(", "),
                    (true, Some((min, max))) => format!("{min} to {max}"),
                    (true, None) => format!("{}", self.setting.layout().kind()),
                }
            }
        }
    }

    fn place(&self) -> String {
        let place = self.setting.layout().placement();
        format!(
            "record {} ({}), byte {}, bit {}, {}",
            self.setting.record(),
            self.record_label,
            place.byte(),
            place.bit(),
            counted(place.bits().into(), "bit", "bits")
        )
    }

    fn in_full(&self, page: &mut Page) {
        let setting = &self.setting;
        page.head(&[&self.path(), self.label()]);
        if let Some(about) = setting.about() {
            page.line(about);
            page.gap();
        }
        page.pair("may be", &self.values());
        page.pair("from factory", &or_nothing(setting.factory()));
        let tags: Vec<&str> = setting.tags().iter().map(|tag| tag.as_str()).collect();
        page.pair("class", &format!("{} ({})", setting.class(), tags.join(", ")));
        if self.record_class > setting.class() {
            page.pair("", &format!("its record is {}: other settings in it ask for more care", self.record_class));
        }
        page.pair("place", &self.place());
        if !setting.affects().is_empty() {
            let affects: Vec<String> = setting.affects().iter().map(ToString::to_string).collect();
            page.pair("acts on", &affects.join(", "));
        }
        page.pair("definition", &format!("{}, {}", self.definition, self.definition_title));
        page.pair("source", setting.source().unwrap_or(NOTHING));
        for rule in &self.rules {
            page.pair("rule", &rule_text(rule));
        }
        for caution in setting.cautions().iter().chain(&self.module_cautions) {
            page.caution(caution);
        }
    }

    fn json(&self) -> Value {
        let setting = &self.setting;
        let place = setting.layout().placement();
        json!({
            "setting": self.path(),
            "label": setting.label(),
            "about": setting.about(),
            "definition": self.definition,
            "record": setting.record(),
            "byte": place.byte(),
            "bit": place.bit(),
            "bits": place.bits(),
            "may_be": self.values(),
            "choices": setting.layout().choices(),
            "factory": setting.factory().map(ToString::to_string),
            "tags": setting.tags(),
            "class": setting.class(),
            "record_class": self.record_class,
            "affects": setting.affects().iter().map(ToString::to_string).collect::<Vec<_>>(),
            "cautions": setting.cautions().iter().chain(&self.module_cautions).collect::<Vec<_>>(),
            "source": setting.source(),
            "rules": self.rules.iter().map(|rule| json!({ "name": rule.name(), "text": rule_text(rule) })).collect::<Vec<_>>(),
        })
    }
}

/// A rule in words.
pub fn rule_text(rule: &Rule) -> String {
    let all = |conditions: &[asfound_core::definition::Condition]| {
        conditions.iter().map(ToString::to_string).collect::<Vec<_>>().join(" and ")
    };
    let text = match rule.kind() {
        RuleKind::Needs { when, needs } => format!("{} needs {}", all(when), all(needs)),
        RuleKind::Exclusive(sets) => {
            let sets: Vec<String> = sets.iter().map(|set| all(set)).collect();
            format!("at most one of: {}", sets.join("; "))
        }
    };
    format!("{} ({}): {text}", rule.name(), rule.because())
}

/// The settings that were found.
pub struct FoundSettings {
    /// What was asked for.
    pub words: String,
    /// What was found.
    pub found: Vec<ExplainScreen>,
}

impl Screen for FoundSettings {
    fn text(&self, page: &mut Page) {
        let same = self.found.iter().all(|one| one.path() == self.found[0].path());
        if same {
            for one in &self.found {
                page.gap();
                one.in_full(page);
            }
            return;
        }
        let mut table = Table::new(["setting", "label", "may be", "class"]);
        for one in &self.found {
            table.row([one.path(), one.label().to_owned(), one.values(), one.setting.class().to_string()]);
        }
        page.table(&table);
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/explained/1",
            "words": self.words,
            "settings": self.found.iter().map(ExplainScreen::json).collect::<Vec<_>>(),
        })
    }
}
