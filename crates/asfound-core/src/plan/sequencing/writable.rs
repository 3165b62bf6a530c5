//! What one write sets, and what it may hold on the way to what is wanted.

use std::collections::BTreeSet;

use crate::definition::{Permitted, SettingDefinition};
use crate::layout::ValueKind;
use crate::names::{ModuleName, SettingPath};
use crate::plan::rules::RuleBook;
use crate::plan::step::{Step, Write};
use crate::safety::SafetyClass;
use crate::value::Value;

/// How many values a setting may have at most so that others than the one found and the one wanted are tried on the way.
pub(super) const SMALL_DOMAIN: usize = 8;

/// How many contents of one record are tried at most, the one found and the one wanted among them.
pub(super) const MOST_CONTENTS: usize = 255;

/// The place of the content as found among those that a record may hold on the way.
pub(super) const FOUND: u8 = 0;

/// The place of the content as wanted.
pub(super) const WANTED: u8 = 1;

/// A record, or a setting that is set by name: what one write sets.
#[derive(Debug, Clone)]
pub(super) struct Writable<'d> {
    pub(super) module: ModuleName,
    pub(super) restricted: bool,
    /// How it is written in one write; one that only may be altered for a time leaves it as it is.
    pub(super) step: Step,
    /// Whether it is in the plan only because it may be altered for a time.
    pub(super) spare: bool,
    pub(super) settings: Vec<AlteredSetting<'d>>,
}

/// A setting that is altered, as rules see it.
#[derive(Debug, Clone)]
pub(super) struct AlteredSetting<'d> {
    pub(super) path: SettingPath,
    pub(super) found: Option<Value>,
    pub(super) wanted: Option<Value>,
    pub(super) defined: Option<&'d SettingDefinition>,
    /// Whether it stays as found in the end and may only be altered for a time.
    pub(super) spare: bool,
}

impl<'d> Writable<'d> {
    pub(super) fn of(step: Step, defined: impl Fn(&SettingPath) -> Option<&'d SettingDefinition>) -> Self {
        let settings = step.settings.iter().map(|setting| {
            let path = SettingPath { module: step.module.clone(), setting: setting.setting.clone() };
            let (found, wanted) =
                (setting.found.as_ref().and_then(RuleBook::value_in), RuleBook::value_in(&setting.left));
            AlteredSetting { defined: defined(&path), path, found, wanted, spare: false }
        });
        let (settings, restricted) = (settings.collect(), step.class == SafetyClass::Restricted);
        Self { module: step.module.clone(), restricted, step, spare: false, settings }
    }

    /// Whether it can be written in several steps: nobody can go back to a content that is not known.
    fn divisible(&self) -> bool {
        match &self.step.write {
            Write::Record { .. } => true,
            Write::ByName { expect, .. } => expect.is_some(),
            Write::BlindRecord { .. } => false,
        }
    }
}

/// What one setting holds in a content.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum HeldValue {
    Found,
    Wanted,
    /// Another value that the definition permits.
    Other(Value),
}

/// The contents that one writable may hold.
#[derive(Debug, Clone)]
pub(super) struct PossibleContents {
    /// Each with what every setting of the writable holds: first as found, then as wanted, then those in between.
    pub(super) list: Vec<Vec<HeldValue>>,
    /// Whether some were left out because there are too many.
    pub(super) cut: bool,
    /// Where the plan starts.
    pub(super) start: u8,
}

impl PossibleContents {
    /// As found and as wanted, and nothing between.
    pub(super) fn single(writable: &Writable<'_>) -> Self {
        let all = |held: HeldValue| vec![held; writable.settings.len()];
        let start = if writable.spare { WANTED } else { FOUND };
        Self { list: vec![all(HeldValue::Found), all(HeldValue::Wanted)], cut: false, start }
    }

    /// Also those in between: of the settings that rules look at (`told`) any mixture of as found, as wanted and, in small
    /// domains, other permitted values. Everything else in the record comes with the content as wanted.
    pub(super) fn between(writable: &Writable<'_>, told: &BTreeSet<&SettingPath>) -> Self {
        let mut contents = Self::single(writable);
        if !writable.divisible() {
            return contents;
        }
        let choices = |others: bool| -> Vec<Vec<HeldValue>> {
            let choices = writable.settings.iter().map(|setting| {
                if told.contains(&setting.path) { setting.choices(others) } else { vec![HeldValue::Found] }
            });
            choices.collect()
        };
        let mut each = choices(true);
        if product(&each) > MOST_CONTENTS {
            contents.cut = true;
            each = choices(false);
        }
        if product(&each) > MOST_CONTENTS {
            return contents;
        }
        let told: Vec<bool> = writable.settings.iter().map(|setting| told.contains(&setting.path)).collect();
        for held in mixtures(&each) {
            let whole = |held: &[HeldValue], whole: &HeldValue| {
                let mut settings = held.iter().zip(&writable.settings).zip(&told);
                settings.all(|((held, setting), told)| {
                    !told || held == whole || setting.spare && !matches!(held, HeldValue::Other(_))
                })
            };
            if !whole(&held, &HeldValue::Found) && !whole(&held, &HeldValue::Wanted) {
                contents.list.push(held);
            }
        }
        contents
    }

    /// Whether a content holds a value that was neither found nor is wanted.
    pub(super) fn invents(&self, content: u8) -> bool {
        self.list[usize::from(content)].iter().any(|held| matches!(held, HeldValue::Other(_)))
    }
}

impl AlteredSetting<'_> {
    /// What the setting holds in a content.
    pub(super) fn value<'a>(&'a self, held: &'a HeldValue) -> Option<&'a Value> {
        match held {
            HeldValue::Found => self.found.as_ref(),
            HeldValue::Wanted => self.wanted.as_ref(),
            HeldValue::Other(value) => Some(value),
        }
    }

    fn choices(&self, others: bool) -> Vec<HeldValue> {
        let mut choices = if self.spare { vec![HeldValue::Found] } else { vec![HeldValue::Found, HeldValue::Wanted] };
        if let Some(defined) = self.defined.filter(|_| others) {
            let values = small_domain(defined).into_iter();
            let values =
                values.filter(|value| self.found.as_ref() != Some(value) && self.wanted.as_ref() != Some(value));
            choices.extend(values.map(HeldValue::Other));
        }
        choices
    }
}

/// The values that a setting may have, where they are few; otherwise none.
pub(super) fn small_domain(setting: &SettingDefinition) -> Vec<Value> {
    let span = |least: &Value, most: &Value| match (least, most) {
        (Value::Integer(least), Value::Integer(most))
            if most.checked_sub(*least).is_some_and(|span| span < SMALL_DOMAIN as i128) =>
        {
            (*least..=*most).map(Value::Integer).collect()
        }
        _ => Vec::new(),
    };
    let layout = setting.layout();
    let mut values: Vec<Value> = match (layout.kind(), setting.permitted()) {
        (_, Permitted::List(values)) => values.clone(),
        (_, Permitted::Range { min, max }) => span(min, max),
        (ValueKind::Switch, Permitted::Any) => vec![Value::Switch(false), Value::Switch(true)],
        (ValueKind::Choice, Permitted::Any) => {
            layout.choices().into_iter().map(|name| Value::Choice(name.to_owned())).collect()
        }
        (_, Permitted::Any) => layout.limits().map_or_else(Vec::new, |(least, most)| span(&least, &most)),
    };
    values.retain(|value| setting.check(value).is_ok());
    if values.len() > SMALL_DOMAIN { Vec::new() } else { values }
}

fn product(each: &[Vec<HeldValue>]) -> usize {
    each.iter().fold(1, |product, choices| product.saturating_mul(choices.len()))
}

/// Every way to take one of each.
fn mixtures(each: &[Vec<HeldValue>]) -> Vec<Vec<HeldValue>> {
    each.iter().fold(vec![Vec::new()], |so_far, choices| {
        let longer = |mixture: &Vec<HeldValue>| {
            let mixture = mixture.clone();
            choices.iter().map(move |choice| [&mixture[..], std::slice::from_ref(choice)].concat())
        };
        so_far.iter().flat_map(longer).collect()
    })
}
