//! What `suspects` shows.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::entry::Body;
use asfound_core::names::EntryNumber;
use asfound_core::plan::HeadlineParts;
use asfound_core::suspects::{
    NarrowingState, RoundEvidence, ScoreReason, ScoredSuspect, Suspect, SuspectKind, Suspicion,
};
use serde_json::json;
use time::OffsetDateTime;

use super::codes_read::{care_words, circumstance_json, circumstance_text};
use super::described::structure_text;
use super::narrowing::{narrowing_json, narrowing_text, not_tried_text};
use super::reading_filed::remark_text;
use super::shared::moment;
use crate::failure::Failure;
use crate::setup::{Described, Descriptions, Session, TracedJournal};
use asfound_report::{NOTHING, Page, Table, date, short_date};

/// The suspects of a trouble code.
pub struct SuspectsSheet<'k> {
    known: &'k TracedJournal,
    suspicion: Suspicion,
    narrowed: NarrowingState,
    weighed: Vec<ScoredSuspect>,
    /// By entry; there may be very many.
    gists: Vec<(EntryNumber, HeadlineParts)>,
    /// When the readings that end the window were taken, and what the odometer showed.
    taken: BTreeMap<EntryNumber, (OffsetDateTime, Option<u32>)>,
    described: Option<Described>,
    next: bool,
}

impl<'k> SuspectsSheet<'k> {
    /// The screen for them, with the next round where it is asked for.
    ///
    /// # Errors
    /// When a table of descriptions or an entry cannot be read.
    pub fn new(
        known: &'k TracedJournal,
        suspicion: Suspicion,
        narrowed: NarrowingState,
        next: bool,
    ) -> Result<Self, Failure> {
        let described = Descriptions::open(&known.garage)?.find(&suspicion.code);
        let weighed = narrowed.weighed(&suspicion);
        let window = &suspicion.window;
        let named: BTreeSet<_> = window.without.into_iter().chain([window.first, window.last_scan.0]).collect();
        let mut suspected: Vec<EntryNumber> = suspicion.suspects.iter().map(|suspect| suspect.entry).collect();
        suspected.sort_unstable();
        let (mut gists, mut taken) = (Vec::with_capacity(suspected.len()), BTreeMap::new());
        for filed in known.journal().each(&known.index) {
            let entry = filed?.entry;
            if suspected.binary_search(&entry.number).is_ok() {
                gists.push((entry.number, HeadlineParts::of(&known.history, &entry)));
            }
            if let (true, Body::Reading(reading)) = (named.contains(&entry.number), &entry.body) {
                taken.insert(entry.number, (entry.happened, reading.odometer_km));
            }
        }
        Ok(Self { known, suspicion, narrowed, weighed, gists, taken, described, next })
    }

    fn headline(&self, suspect: &Suspect) -> String {
        let at = self.gists.binary_search_by_key(&suspect.entry, |(entry, _)| *entry);
        let headline = at.ok().and_then(|at| self.gists.get(at));
        headline.map_or(NOTHING.to_owned(), |(entry, headline)| headline.headline(&self.known.history, *entry))
    }

    fn reasons(&self, suspect: &Suspect) -> Vec<ScoreReason> {
        self.suspicion.reasons(suspect, &self.known.history, &self.known.definitions)
    }

    /// What the rounds say of each part.
    fn evidence(&self) -> Vec<Vec<RoundEvidence>> {
        self.narrowed.parts.iter().map(|part| self.narrowed.evidence(part)).collect()
    }

    /// An entry with its date and what the odometer showed.
    fn when(&self, number: EntryNumber) -> String {
        let Some((happened, km)) = self.taken.get(&number) else { return format!("entry {number}") };
        let km = km.map(|km| format!(", {km} km"));
        format!("entry {number}, {}{}", date(*happened), km.unwrap_or_default())
    }

    fn head(&self, page: &mut Page) {
        let Suspicion { code, window, .. } = &self.suspicion;
        page.head(&[self.known.tag.as_str(), &code.to_string(), &format!("in {}", window.module)]);
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
        let table = Table::new(["score", "entry", "what", "why"]).figures(0).figures(1).at_least(2, 36);
        let evidence = self.evidence();
        page.gap();
        page.table_of(&table, self.weighed.len(), &|at| {
            let ScoredSuspect { suspect, score, part } = &self.weighed[at];
            let suspect = &self.suspicion.suspects[*suspect];
            let reasons = self.reasons(suspect).into_iter();
            let reasons = reasons.map(|reason| format!("{} (+{})", reason.why, reason.points));
            let evidence = evidence[*part].iter().map(|it| match it.points {
                points if points < -99 => format!("{} (out of it)", it.why),
                points => format!("{} ({points:+})", it.why),
            });
            let mut why: Vec<String> = reasons.chain(evidence).collect();
            why.extend(self.narrowed.parts[*part].not_tried.as_ref().map(not_tried_text));
            let what = format!("{}, {}", short_date(suspect.happened), self.headline(suspect));
            vec![score.to_string(), suspect.entry.to_string(), what, why.join("; ")]
        });
        page.gap();
        page.line("That something was altered before the code came proves nothing.");
    }

    /// Writes them.
    ///
    /// # Errors
    /// When standard output cannot be written.
    pub fn write(&self, session: &mut Session<'_>) -> Result<(), Failure> {
        if session.json { self.write_json(session) } else { session.show_text(&mut |page| self.text(page)) }
    }

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
        narrowing_text(page, &self.known.tag, &self.suspicion, &self.narrowed, self.next);
    }

    /// Writes them as JSON, suspect by suspect: there may be very many.
    fn write_json(&self, session: &mut Session<'_>) -> Result<(), Failure> {
        let Suspicion { code, window, circumstance, implausible, care, .. } = &self.suspicion;
        let evidence = self.evidence();
        let suspect = |ScoredSuspect { suspect, score, part }: &ScoredSuspect| {
            let suspect = &self.suspicion.suspects[*suspect];
            json!({
                "entry": suspect.entry,
                "kind": match suspect.kind {
                    SuspectKind::Work => "work",
                    SuspectKind::Unexplained => "unexplained",
                },
                "headline": self.headline(suspect),
                "happened": moment(suspect.happened),
                "score": score,
                "reasons": self.reasons(suspect).iter()
                    .map(|reason| json!({ "points": reason.points, "why": reason.why }))
                    .collect::<Vec<_>>(),
                "evidence": evidence[*part].iter()
                    .map(|evidence| json!({ "points": evidence.points, "why": evidence.why }))
                    .collect::<Vec<_>>(),
                "not_tried": self.narrowed.parts[*part].not_tried.as_ref().map(not_tried_text),
            })
        };
        let frame = json!({
            "schema": "asfound/suspects/1",
            "vehicle": self.known.tag,
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
            "suspects": [],
            "narrowing": narrowing_json(&self.known.tag, &self.suspicion, &self.narrowed, self.next),
        });
        session.write_list(&frame, "suspects", &mut |item| {
            self.weighed.iter().try_for_each(|weighed| item(&suspect(weighed)))
        })
    }
}
