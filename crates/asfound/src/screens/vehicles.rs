//! What `vehicles` shows.

use std::path::PathBuf;

use asfound_core::entry::{Entry, Vehicle};
use serde_json::{Value, json};

use super::shared::{moment, or_nothing};
use crate::setup::Screen;
use asfound_report::{Page, Table, date};

/// One vehicle in the list.
pub struct VehicleLine {
    /// The vehicle.
    pub vehicle: Vehicle,
    /// Its last entry.
    pub last: Entry,
    /// How many trials are open; nothing where its journal cannot be traced.
    pub on_trial: Option<usize>,
}

/// All vehicles of a garage.
pub struct Vehicles {
    /// The garage.
    pub garage: PathBuf,
    /// The vehicles, by tag.
    pub lines: Vec<VehicleLine>,
}

impl Screen for Vehicles {
    fn text(&self, page: &mut Page) {
        if self.lines.is_empty() {
            page.line(&format!("No vehicle is enrolled in {}.", self.garage.display()));
            page.line("Next: asfound enrol TAG");
            return;
        }
        let mut table = Table::new(["vehicle", "VIN", "entries", "trials", "last entry", "about"])
            .figures(2)
            .figures(3)
            .at_least(1, 20);
        for VehicleLine { vehicle, last, on_trial } in &self.lines {
            table.row([
                vehicle.tag.to_string(),
                or_nothing(vehicle.vin.as_ref()),
                last.number.to_string(),
                or_nothing(on_trial.as_ref()),
                format!("{}, {}", date(last.recorded), last.body.kind()),
                or_nothing(vehicle.about.as_ref()),
            ]);
        }
        page.table(&table);
    }

    fn json(&self) -> Value {
        let vehicle = |line: &VehicleLine| {
            let VehicleLine { vehicle, last, on_trial } = line;
            json!({
                "tag": vehicle.tag,
                "vin": vehicle.vin,
                "about": vehicle.about,
                "enrolled": moment(vehicle.enrolled),
                "entries": last.number,
                "on_trial": on_trial,
                "last_entry": { "kind": last.body.kind(), "recorded": moment(last.recorded) },
            })
        };
        json!({
            "schema": "asfound/vehicles/1",
            "garage": self.garage,
            "vehicles": self.lines.iter().map(vehicle).collect::<Vec<_>>(),
        })
    }
}
