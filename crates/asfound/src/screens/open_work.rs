//! What `vehicles --open` shows.

use asfound_core::names::{EntryNumber, Tag};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use time::{Duration, OffsetDateTime};

use super::found::Unreadable;
use super::shared::{counted, moment};
use crate::setup::Screen;
use asfound_report::{Page, Table, short_date};

/// So long work may stay stated before it is asked about.
const STATED: Duration = Duration::days(7);

/// What is open of one car.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VehicleOpenWork {
    /// The car.
    pub tag: Tag,
    /// Its open orders.
    pub orders: Vec<OpenOrder>,
    /// Its guided runs that were begun and not ended.
    #[serde(skip)]
    pub runs: Vec<String>,
    /// The places of steps of which nobody knows what became of them.
    pub in_doubt: Vec<String>,
    /// The work on trial.
    pub on_trial: Vec<EntryNumber>,
    /// Work that was only stated.
    pub stated: Vec<StatedWork>,
}

/// An open order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenOrder {
    /// Its number.
    pub number: String,
    /// Since when it is open.
    #[serde(with = "time::serde::rfc3339")]
    pub since: OffsetDateTime,
    /// What was agreed to and is not done.
    pub not_done: Vec<String>,
    /// What was done without authority.
    pub without_authority: Vec<String>,
}

/// Work that was stated, and that no reading shows yet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StatedWork {
    /// The entry.
    pub entry: EntryNumber,
    /// When it was filed.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// What it is.
    pub headline: String,
}

impl VehicleOpenWork {
    /// Leaves out work that was stated a short while ago only.
    pub fn forget_recent(&mut self, now: OffsetDateTime) {
        self.stated.retain(|work| now - work.at > STATED);
    }

    /// Whether nothing is open.
    pub fn is_empty(&self) -> bool {
        self.orders.is_empty()
            && self.runs.is_empty()
            && self.in_doubt.is_empty()
            && self.on_trial.is_empty()
            && self.stated.is_empty()
    }

    /// One line for each thing, with the command that looks at it.
    fn lines(&self) -> Vec<(String, String)> {
        let tag = &self.tag;
        let mut lines = Vec::new();
        for order in &self.orders {
            let mut text = format!("order {} since {}", order.number, short_date(order.since));
            for (word, list) in [("not done", &order.not_done), ("without authority", &order.without_authority)] {
                if !list.is_empty() {
                    text.push_str(&format!("; {word}: {}", list.join(", ")));
                }
            }
            lines.push((text, format!("order show {tag}")));
        }
        lines.extend(self.runs.iter().map(|run| (format!("guided run begun: {run}"), "work PLAN".to_owned())));
        lines.extend(self.in_doubt.iter().map(|place| (format!("in doubt: {place}"), format!("read {tag} FILE"))));
        if !self.on_trial.is_empty() {
            let entries: Vec<String> = self.on_trial.iter().map(ToString::to_string).collect();
            let text =
                format!("on trial: {} {}", if entries.len() == 1 { "entry" } else { "entries" }, entries.join(", "));
            lines.push((text, format!("trial {tag}")));
        }
        lines.extend(self.stated.iter().map(|work| {
            let text = format!("entry {}, only stated since {}: {}", work.entry, short_date(work.at), work.headline);
            (text, format!("entry {tag} {}", work.entry))
        }));
        lines
    }
}

/// What is open over all cars.
pub struct OpenWork {
    /// The cars that have something open, by tag.
    pub vehicles: Vec<VehicleOpenWork>,
    /// How many cars there are.
    pub all: usize,
    /// Those whose journal cannot be read or traced.
    pub unreadable: Vec<Unreadable>,
}

impl Screen for OpenWork {
    fn text(&self, page: &mut Page) {
        let cars = counted(self.all, "car", "cars");
        if self.vehicles.is_empty() {
            page.line(&format!("Nothing is open: {cars} looked at."));
        } else {
            page.head(&["open", &format!("{} of {cars}", self.vehicles.len())]);
            let mut table = Table::new(["vehicle", "what", "look with asfound"]);
            for vehicle in &self.vehicles {
                let mut tag = vehicle.tag.to_string();
                for (what, look) in vehicle.lines() {
                    table.row([std::mem::take(&mut tag), what, look]);
                }
            }
            page.table(&table);
        }
        self.unreadable.iter().for_each(|one| one.show(page));
    }

    fn json(&self) -> Value {
        let vehicle = |one: &VehicleOpenWork| {
            let orders = one.orders.iter().map(|order| {
                json!({
                    "order": order.number,
                    "since": moment(order.since),
                    "not_done": order.not_done,
                    "without_authority": order.without_authority,
                })
            });
            let stated = one
                .stated
                .iter()
                .map(|work| json!({ "entry": work.entry, "recorded": moment(work.at), "headline": work.headline }));
            json!({
                "vehicle": one.tag,
                "orders": orders.collect::<Vec<_>>(),
                "runs": one.runs,
                "in_doubt": one.in_doubt,
                "on_trial": one.on_trial,
                "only_stated": stated.collect::<Vec<_>>(),
            })
        };
        json!({
            "schema": "asfound/open-work/1",
            "looked_at": self.all,
            "vehicles": self.vehicles.iter().map(vehicle).collect::<Vec<_>>(),
            "unreadable": self.unreadable.iter().map(Unreadable::json).collect::<Vec<_>>(),
        })
    }
}
