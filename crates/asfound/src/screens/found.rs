//! What `find` shows.

use asfound_core::definition::Pattern;
use asfound_core::entry::{Body, Entry, Vehicle};
use asfound_core::history::{ContentStatus, Origin, Transition};
use asfound_core::names::{EntryNumber, SettingPath, Tag};
use serde_json::{Value, json};

use super::shared::{ContentJson, counted, entry_day, moment, origin_json, origin_text, standing_json, standing_text};
use crate::setup::{Screen, SettingLife};
use asfound_report::{NOTHING, Page, Table};

/// A vehicle that has what was looked for.
pub struct FoundVehicle {
    tag: Tag,
    vehicle: Option<Vehicle>,
    software: Option<String>,
    step: Transition,
    /// The entry that tells of it.
    entry: Entry,
    standing: Option<ContentStatus>,
}

impl FoundVehicle {
    /// A vehicle with what it has; nothing where nothing is known of the setting.
    pub fn new(tag: &Tag, life: &SettingLife) -> Option<Self> {
        let step = life.timeline()?.last()?.clone();
        let vehicle = life.entry(EntryNumber::FIRST).and_then(|first| match &first.body {
            Body::Enrolled(vehicle) => Some(vehicle.clone()),
            _ => None,
        });
        let software = life.history.state().identity(&life.path.module).software;
        let (entry, standing) = (life.entry(step.entry)?.clone(), life.history.standing(&life.field));
        Some(Self { tag: tag.clone(), vehicle, software, step, entry, standing })
    }

    /// Who brought it about, and why.
    fn by(&self) -> String {
        match self.step.origin {
            Origin::Work => format!("{}, {} ({})", self.entry.body.kind(), self.entry.author.name(), self.entry.why),
            origin => origin_text(origin),
        }
    }
}

/// A vehicle whose journal cannot be read.
pub struct Unreadable {
    /// The vehicle.
    pub vehicle: Tag,
    /// What is wrong with its journal.
    pub message: String,
}

impl Unreadable {
    /// The line for it.
    pub fn show(&self, page: &mut Page) {
        let Self { vehicle, message } = self;
        page.line(&format!("{vehicle}: cannot be read: {message}"));
        page.line(&format!("  Next: asfound audit {vehicle}"));
    }

    /// The same for programs.
    pub fn json(&self) -> Value {
        json!({ "vehicle": self.vehicle, "message": self.message })
    }
}

/// The vehicles of a garage that have what was looked for.
pub struct FoundVehicles {
    /// The setting.
    pub setting: SettingPath,
    /// The value, where one was asked for.
    pub value: Option<String>,
    /// The software, where it was asked for.
    pub software: Option<Pattern>,
    /// How many vehicles there are.
    pub searched: usize,
    /// Those that have it, by tag.
    pub vehicles: Vec<FoundVehicle>,
    /// Those of which nobody can say it, by tag.
    pub unreadable: Vec<Unreadable>,
}

impl Screen for FoundVehicles {
    fn text(&self, page: &mut Page) {
        let wanted = match &self.value {
            Some(value) => format!("{} = {value}", self.setting),
            None => self.setting.to_string(),
        };
        let software = self.software.as_ref().map(|software| format!("software {software}")).unwrap_or_default();
        let count = counted(self.searched, "vehicle", "vehicles");
        page.head(&[&wanted, &software, &format!("{} of {count}", self.vehicles.len())]);
        if self.vehicles.is_empty() {
            page.line("No vehicle has it, as far as its journal knows.");
        } else {
            let mut table = Table::new(["vehicle", "has", "since", "entry", "by", "known"]).figures(3).at_least(2, 13);
            for found in &self.vehicles {
                table.row([
                    found.tag.to_string(),
                    found.step.left.to_string(),
                    entry_day(&found.entry),
                    found.step.entry.to_string(),
                    found.by(),
                    found.standing.map_or_else(|| NOTHING.to_owned(), standing_text),
                ]);
            }
            page.table(&table);
        }
        self.unreadable.iter().for_each(|one| one.show(page));
    }

    fn json(&self) -> Value {
        let vehicle = |found: &FoundVehicle| {
            json!({
                "vehicle": found.tag,
                "vin": found.vehicle.as_ref().and_then(|vehicle| vehicle.vin.as_ref()),
                "software": found.software,
                "has": ContentJson::of(&found.step.left),
                "entry": found.step.entry,
                "kind": found.entry.body.kind(),
                "happened": moment(found.entry.happened),
                "author": found.entry.author.name(),
                "why": found.entry.why.as_str(),
                "origin": origin_json(found.step.origin),
                "standing": found.standing.map(standing_json),
            })
        };
        json!({
            "schema": "asfound/found/1",
            "setting": self.setting.to_string(),
            "value": self.value,
            "software": self.software.as_ref().map(Pattern::as_str),
            "searched": self.searched,
            "vehicles": self.vehicles.iter().map(vehicle).collect::<Vec<_>>(),
            "unreadable": self.unreadable.iter().map(Unreadable::json).collect::<Vec<_>>(),
        })
    }
}
