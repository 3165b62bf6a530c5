//! What `suspects` shows.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::entry::{Body, Entry};
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::plan::headline;
use asfound_core::suspects::{Narrowed, SuspectKind, Suspicion, Weighed};
use serde_json::{Value, json};

use super::codes_read::{care_words, circumstance_json, circumstance_text};
use super::described::structure_text;
use super::narrowing::{narrowing_json, narrowing_text, not_tried_text};
use super::reading_filed::remark_text;
use super::shared::moment;
use crate::failure::Failure;
use crate::setup::{Described, Descriptions, Known, Screen};
use asfound_report::{NOTHING, Page, Table, date, short_date};

/// The suspects of a trouble code.
pub struct SuspectsSheet {
    tag: Tag,
    suspicion: Suspicion,
    narrowed: Narrowed,
    weighed: Vec<Weighed>,
    entries: BTreeMap<EntryNumber, (Entry, String)>,
    described: Option<Described>,
    next: bool,
}

impl SuspectsSheet {
    /// The screen for them, with the next round where it is asked for.
    ///
    /// # Errors
    /// When a table of descriptions cannot be read.
    pub fn new(
        known: &Known,
        entries: &[Entry],
        suspicion: Suspicion,
        narrowed: Narrowed,
        next: bool,
    ) -> Result<Self, Failure> {
        let described = Descriptions::open(&known.garage)?.find(&suspicion.code);
        let line = |entry: &Entry| (entry.number, (entry.clone(), headline(&known.history, entry)));
        let weighed = narrowed.weighed(&suspicion);
        let window = &suspicion.window;
        let mut named: BTreeSet<EntryNumber> = weighed.iter().map(|weighed| weighed.suspect.entry).collect();
        named.extend(window.without.into_iter().chain([window.first, window.last_scan.0]));
        let entries = entries.iter().filter(|entry| named.contains(&entry.number)).map(line).collect();
        Ok(Self { tag: known.tag.clone(), suspicion, narrowed, weighed, entries, described, next })
    }

    /// An entry with its date and what the odometer showed.
    fn when(&self, number: EntryNumber) -> String {
        let Some((entry, _)) = self.entries.get(&number) else { return format!("entry {number}") };
        let km = match &entry.body {
            Body::Reading(reading) => reading.odometer_km.map(|km| format!(", {km} km")),
            _ => None,
        };
        format!("entry {number}, {}{}", date(entry.happened), km.unwrap_or_default())
    }

    fn head(&self, page: &mut Page) {
        let Suspicion { code, window, .. } = &self.suspicion;
        page.head(&[self.tag.as_str(), &code.to_string(), &format!("in {}", window.module)]);
        page.pair("structure", &structure_text(code));
        if let Some(described) = &self.described {
            page.pair("description", &described.with_origin());
        }
        let without = match window.without {
            Some(without) => self.when(without),
            None => format!("{} was never scanned before: the code may be older than the journal", window.module),
        };
        page.pair("last without", &without);
        page.pair("first with", &self.when(window.first));
        let (last, there) = window.last_scan;
        if last != window.first {
            page.pair("last scan", &format!("{}: {}", self.when(last), if there { "still there" } else { "gone" }));
        }
    }

    fn table(&self, page: &mut Page) {
        let mut table = Table::new(["score", "entry", "what", "why"]).figures(0).figures(1).at_least(2, 36);
        for Weighed { suspect, evidence, score, part } in &self.weighed {
            let reasons = suspect.reasons.iter().map(|reason| format!("{} (+{})", reason.why, reason.points));
            let evidence = evidence.iter().map(|it| match it.points {
                points if points < -99 => format!("{} (out of it)", it.why),
                points => format!("{} ({points:+})", it.why),
            });
            let mut why: Vec<String> = reasons.chain(evidence).collect();
            why.extend(self.narrowed.parts[*part].not_tried.as_ref().map(not_tried_text));
            let what = match self.entries.get(&suspect.entry) {
                Some((entry, headline)) => format!("{}, {headline}", short_date(entry.happened)),
                None => NOTHING.to_owned(),
            };
            table.row([score.to_string(), suspect.entry.to_string(), what, why.join("; ")]);
        }
        page.gap();
        page.table(&table);
        page.gap();
        page.line("That something was altered before the code came proves nothing.");
    }
}

impl Screen for SuspectsSheet {
    fn text(&self, page: &mut Page) {
        self.head(page);
        if !self.suspicion.care.is_empty() {
            page.caution(&care_words(&self.suspicion.care));
        }
        if let Some(circumstance) = &self.suspicion.circumstance {
            circumstance_text(page, circumstance);
        }
        self.suspicion.implausible.iter().for_each(|remark| page.remark(&remark_text(remark)));
        if self.weighed.is_empty() {
            page.gap();
            page.line("Nothing was altered in the window, as far as the journal can tell.");
            page.line("No recorded change; look at the car.");
            return;
        }
        self.table(page);
        narrowing_text(page, &self.tag, &self.suspicion, &self.narrowed, self.next);
    }

    fn json(&self) -> Value {
        let Suspicion { code, window, circumstance, implausible, care, .. } = &self.suspicion;
        let suspect = |weighed: &Weighed| {
            let (entry, headline) = &self.entries[&weighed.suspect.entry];
            json!({
                "entry": weighed.suspect.entry,
                "kind": match weighed.suspect.kind {
                    SuspectKind::Work => "work",
                    SuspectKind::Unexplained => "unexplained",
                },
                "headline": headline,
                "happened": moment(entry.happened),
                "score": weighed.score,
                "reasons": weighed.suspect.reasons.iter()
                    .map(|reason| json!({ "points": reason.points, "why": reason.why }))
                    .collect::<Vec<_>>(),
                "evidence": weighed.evidence.iter()
                    .map(|evidence| json!({ "points": evidence.points, "why": evidence.why }))
                    .collect::<Vec<_>>(),
                "not_tried": self.narrowed.parts[weighed.part].not_tried.as_ref().map(not_tried_text),
            })
        };
        json!({
            "schema": "asfound/suspects/1",
            "vehicle": self.tag,
            "code": code,
            "module": window.module,
            "structure": code.structure(),
            "description": self.described.as_ref().map(Described::json),
            "last_without": window.without,
            "first_with": window.first,
            "last_scan": window.last_scan.0,
            "still_there": window.last_scan.1,
            "technician_first": care,
            "common_circumstance": circumstance.as_ref().map(circumstance_json),
            "implausible": implausible.iter().map(remark_text).collect::<Vec<_>>(),
            "suspects": self.weighed.iter().map(suspect).collect::<Vec<_>>(),
            "narrowing": narrowing_json(&self.tag, &self.suspicion, &self.narrowed, self.next),
        })
    }
}
