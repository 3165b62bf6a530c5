//! How strongly an entry is suspected, and why.

use std::collections::BTreeSet;

use time::OffsetDateTime;

use super::candidates::{Candidate, SuspectKind};
use crate::definition::{Affected, Definition, DefinitionSet, SettingDefinition};
use crate::history::Field;
use crate::names::ModuleName;
use crate::safety::{SafetyClass, SafetyTag, role_tags};
use crate::state::State;
use crate::trouble_code::{TroubleCode, technician_first};

/// Every entry in the window has these.
const IN_WINDOW: u32 = 5;
/// What came after the code was first seen has this instead: it can only have a part in its coming again.
const AFTERWARDS: u32 = 1;
/// It altered the module that reports the code.
const SAME_MODULE: u32 = 40;
/// A definition says that what it altered acts on that module.
const ACTS_ON: u32 = 25;
/// A rule ties what it altered to that module.
const RULE: u32 = 20;
/// It altered something of the same kind of system.
const SAME_TAG: u32 = 15;
/// It altered something of the restricted class.
const RESTRICTED: u32 = 10;
/// At most, for the one that came last.
const RECENT: u32 = 10;
/// Nobody recorded it.
const UNEXPLAINED: u32 = 5;

/// A reason to suspect an entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScoreReason {
    /// What it adds to the score.
    pub points: u32,
    /// Why.
    pub why: String,
}

/// What the score of an entry is held against.
pub(super) struct ScoreScale<'a> {
    pub(super) module: &'a ModuleName,
    pub(super) code: &'a TroubleCode,
    pub(super) state: &'a State,
    pub(super) definitions: &'a DefinitionSet,
    /// From when to when.
    pub(super) window: (OffsetDateTime, OffsetDateTime),
}

impl<'a> ScoreScale<'a> {
    fn definition(&self, module: &ModuleName) -> Option<&'a Definition> {
        self.definitions.fitting(module, &self.state.identity(module)).ok().flatten()
    }

    fn setting(&self, field: &Field) -> Option<&'a SettingDefinition> {
        match field {
            Field::Setting(path) => self.definition(&path.module)?.setting(&path.setting),
            Field::Undeclared { .. } => None,
        }
    }

    /// The tags of the module that reports the code: of its role, of its definition, and of the code's form.
    fn tags(&self) -> BTreeSet<SafetyTag> {
        let systems = self.definition(self.module).map_or(&[][..], Definition::systems);
        let by_form = technician_first(self.code, self.module, systems);
        systems.iter().copied().chain(role_tags(self.module)).chain(by_form).collect()
    }

    /// The reasons, largest first; their points add up to the score.
    pub(super) fn reasons(&self, candidate: &Candidate<'_>) -> Vec<ScoreReason> {
        let mut reasons = Vec::new();
        let mut add = |points: u32, why: String| {
            if points > 0 {
                reasons.push(ScoreReason { points, why });
            }
        };
        if candidate.later {
            add(AFTERWARDS, "it came after the code was first seen".to_owned());
        } else {
            add(IN_WINDOW, "it came in the window".to_owned());
        }
        let modules: BTreeSet<&ModuleName> =
            candidate.fields.iter().map(|field| field.module()).chain(&candidate.renewed).collect();
        if modules.contains(self.module) {
            add(SAME_MODULE, format!("same module, {}", self.module));
        }
        if let Some(setting) = candidate.fields.iter().filter_map(|field| self.setting(field)).find(|it| self.acts(it))
        {
            add(ACTS_ON, format!("{} acts on {}", setting.path(), self.module));
        }
        if let Some(rule) = candidate.fields.iter().find_map(|field| self.rule_with(field)) {
            add(RULE, format!("rule {rule} ties it to {}", self.module));
        }
        let tags: BTreeSet<SafetyTag> = candidate.fields.iter().flat_map(|field| self.tags_of(field)).collect();
        if let Some(tag) = self.tags().intersection(&tags).next() {
            add(SAME_TAG, format!("same kind of system, {tag}"));
        }
        if tags.iter().any(|tag| tag.class() == SafetyClass::Restricted) {
            add(RESTRICTED, "restricted class".to_owned());
        }
        let (from, to) = self.window;
        let whole = (to - from).whole_seconds().max(1);
        let late = (candidate.entry.happened - from).whole_seconds().clamp(0, whole);
        let recent = u32::try_from(late * i64::from(RECENT) / whole).unwrap_or(0);
        add(recent, format!("recent, {}% through the window", late * 100 / whole));
        if candidate.kind == SuspectKind::Unexplained {
            add(UNEXPLAINED, "nobody recorded it".to_owned());
        }
        reasons.sort_by_key(|reason| std::cmp::Reverse(reason.points));
        reasons
    }

    fn acts(&self, setting: &SettingDefinition) -> bool {
        setting.path().module != *self.module
            && setting.affects().iter().any(|affected| match affected {
                Affected::Module(module) => module == self.module,
                Affected::Setting(path) => path.module == *self.module,
            })
    }

    /// A rule about the field and about some setting of the module that reports the code.
    fn rule_with(&self, field: &Field) -> Option<String> {
        let Field::Setting(path) = field else { return None };
        if path.module == *self.module {
            return None;
        }
        let rules = [&path.module, self.module].into_iter().filter_map(|module| self.definition(module));
        rules
            .flat_map(Definition::rules)
            .find(|rule| {
                let settings = rule.settings();
                settings.contains(path) && settings.iter().any(|other| other.module == *self.module)
            })
            .map(|rule| rule.name().to_string())
    }

    fn tags_of(&self, field: &Field) -> Vec<SafetyTag> {
        match self.setting(field) {
            Some(setting) => setting.tags().to_vec(),
            // What nobody named has the tags of its module.
            None => {
                let systems = self.definition(field.module()).map_or(&[][..], Definition::systems);
                systems.iter().copied().chain(role_tags(field.module())).collect()
            }
        }
    }
}
