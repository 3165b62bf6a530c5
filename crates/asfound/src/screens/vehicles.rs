//! What `vehicles` shows.

use std::path::PathBuf;

use asfound_core::entry::Vehicle;
use asfound_core::names::EntryNumber;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use time::OffsetDateTime;

use super::found::Unreadable;
use super::shared::{moment, or_nothing};
use crate::setup::Screen;
use asfound_report::{NOTHING, Page, Table, short_date};

/// One vehicle in the list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VehicleLine {
    /// The vehicle.
    pub vehicle: Vehicle,
    /// The number of its last entry.
    pub entries: EntryNumber,
    /// The kind of its last entry.
    pub kind: String,
    /// When that was filed.
    #[serde(with = "time::serde::rfc3339")]
    pub recorded: OffsetDateTime,
    /// How many orders are open; nothing where its journal cannot be read.
    pub open_orders: Option<usize>,
    /// How many trials are open; nothing where its journal cannot be traced.
    pub on_trial: Option<usize>,
    /// Of how many steps nobody knows what became of them; nothing where its journal cannot be traced.
    pub in_doubt: Option<usize>,
}

/// All vehicles of a garage.
pub struct Vehicles {
    /// The garage.
    pub garage: PathBuf,
    /// The vehicles, by tag.
    pub lines: Vec<VehicleLine>,
    /// Those whose journal cannot be read, by tag.
    pub unreadable: Vec<Unreadable>,
}

impl Screen for Vehicles {
    fn text(&self, page: &mut Page) {
        if self.lines.is_empty() && self.unreadable.is_empty() {
            page.line(&format!("No vehicle is enrolled in {}.", self.garage.display()));
            page.line("Next: asfound enrol TAG");
            return;
        }
        let mut table =
            Table::new(["vehicle", "VIN", "entries", "open", "last entry", "about"]).figures(2).at_least(1, 20);
        for VehicleLine { vehicle, entries, kind: _, recorded, open_orders, on_trial, in_doubt } in &self.lines {
            table.row([
                vehicle.tag.to_string(),
                or_nothing(vehicle.vin.as_ref()),
                entries.to_string(),
                open(*open_orders, *on_trial, *in_doubt),
                short_date(*recorded),
                or_nothing(vehicle.about.as_ref()),
            ]);
        }
        if !self.lines.is_empty() {
            page.table(&table);
        }
        self.unreadable.iter().for_each(|one| one.show(page));
    }

    fn json(&self) -> Value {
        let vehicle = |line: &VehicleLine| {
            let VehicleLine { vehicle, entries, kind, recorded, open_orders, on_trial, in_doubt } = line;
            json!({
                "tag": vehicle.tag,
                "vin": vehicle.vin,
                "about": vehicle.about,
                "enrolled": moment(vehicle.enrolled),
                "entries": entries,
                "open_orders": open_orders,
                "on_trial": on_trial,
                "in_doubt": in_doubt,
                "last_entry": { "kind": kind, "recorded": moment(*recorded) },
            })
        };
        json!({
            "schema": "asfound/vehicles/1",
            "garage": self.garage,
            "vehicles": self.lines.iter().map(vehicle).collect::<Vec<_>>(),
            "unreadable": self.unreadable.iter().map(Unreadable::json).collect::<Vec<_>>(),
        })
    }
}

/// What is open in a journal, in words: short, because most cars have little or nothing open.
fn open(orders: Option<usize>, trials: Option<usize>, doubts: Option<usize>) -> String {
    let words = |count: Option<usize>, one: &str| match count {
        Some(0) => None,
        Some(1) => Some(format!("1 {one}")),
        Some(count) => Some(format!("{count} {one}s")),
        // A journal that cannot be read or traced: that it has none is not known.
        None => Some(format!("{one}s: ?")),
    };
    let doubts = doubts.filter(|count| *count > 0).map(|count| format!("{count} in doubt"));
    let open: Vec<String> = doubts.into_iter().chain(words(orders, "order")).chain(words(trials, "trial")).collect();
    if open.is_empty() { NOTHING.to_owned() } else { open.join(", ") }
}
