//! What `file-log` shows.

use std::collections::BTreeSet;

use asfound_capture::bus_log::{BusSummary, LogDrafts, ModuleIdentification};
use asfound_core::entry::{Entry, Reason, WireAction, WireWrite};
use asfound_core::history::HistoryBuilder;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::plan::headline;
use asfound_core::state::State;
use asfound_journal::journal::JournalError;
use serde_json::{Value, json};
use time::{OffsetDateTime, UtcOffset};

use super::reading_filed::remark_text;
use super::shared::{entry_json, moment};
use super::write_lines::{
    WriteLine, accounted_for, answer_text, cannot_tell_text, clock_lines, clock_text, date_and_clock, how_text,
    left_out_text, unplaced_line, written,
};
use crate::failure::Failure;
use crate::setup::{DefinedJournal, Screen};
use asfound_report::{NOTHING, Page, Table, date, short_date};

/// What is to be said next.
pub enum NextHint {
    /// Nothing: it is filed.
    Filed,
    /// Nothing is filed yet.
    Preview {
        /// The options that are missing.
        options: Vec<String>,
        /// Whether somebody must say whose writes they were.
        open: bool,
    },
}

/// So many other things that were done are shown; all are filed.
const SHOWN_ACTIONS: usize = 60;

/// What logs show, and what is or would be filed of it.
pub struct LogFiledScreen {
    tag: Tag,
    offset: UtcOffset,
    drawn: LogDrafts,
    modules: Vec<ModuleLine>,
    one_bus: bool,
    unplaced: Vec<String>,
    unplaced_json: Vec<Value>,
    lines: Vec<(Entry, String)>,
    written: Vec<Vec<WriteLine>>,
    remarks: Vec<String>,
    next: NextHint,
}

struct ModuleLine {
    module: String,
    said: String,
    how: String,
    bus: Option<String>,
    mirrored: Vec<String>,
}

impl LogFiledScreen {
    /// The screen for it; `before` is the state before what is drawn up.
    ///
    /// # Errors
    /// When the entries do not follow from the journal.
    pub fn new(
        (known, before): (&DefinedJournal, &State),
        heard: &BusSummary,
        placing: &ModuleIdentification,
        drawn: LogDrafts,
        why: &Reason,
        next: NextHint,
    ) -> Result<Self, Failure> {
        let mut tracing = HistoryBuilder::new(&known.definitions);
        let (mut last, mut lines) = (None, Vec::new());
        for filed in known.journal().each(&known.index) {
            let entry = filed?.entry;
            tracing.entry(&entry).map_err(JournalError::from)?;
            last = Some(entry);
        }
        for entry in &drawn.entries {
            let Some(last) = &last else { break };
            let (number, happened, body) = (entry.number, entry.happened, entry.body.clone());
            let entry = Entry { number, happened, body, why: why.clone(), ..last.clone() };
            tracing.entry(&entry).map_err(JournalError::from)?;
            lines.push(entry);
        }
        let history = tracing.finish();
        let headed = |entry: Entry| (entry.clone(), headline(&history, &entry));
        let entries: Vec<(Entry, String)> = lines.into_iter().map(headed).collect();
        let offset = drawn.entries.last().map_or(UtcOffset::UTC, |entry| entry.happened.offset());
        let buses: BTreeSet<&Option<String>> = heard.modules.iter().map(|module| &module.bus).collect();
        let one_bus = buses.len() == 1;
        let modules = placing.placed.iter().map(|placed| ModuleLine {
            module: placed.module.to_string(),
            said: heard.modules[placed.heard].said(),
            bus: heard.modules[placed.heard].bus.clone(),
            mirrored: heard.modules[placed.heard].mirrored.clone(),
            how: how_text(&placed.how),
        });
        let remarks = drawn.entries.iter().flat_map(|entry| &entry.remarks).map(remark_text);
        let mut remarks: Vec<String> = remarks.collect();
        remarks.dedup();
        Ok(Self {
            tag: known.tag.clone(),
            offset,
            one_bus,
            modules: modules.collect(),
            unplaced: placing.unplaced.iter().map(|one| unplaced_line(heard, one)).collect(),
            unplaced_json: placing
                .unplaced
                .iter()
                .map(|one| {
                    let module = &heard.modules[one.heard];
                    json!({
                        "place": module.said(),
                        "bus": module.bus,
                        "records": module.timeline.records.len(),
                        "writes": module.writes(),
                        "perhaps": one.perhaps,
                    })
                })
                .collect(),
            lines: entries,
            written: (0..drawn.witness.writes.len())
                .map(|place| written(before, &known.definitions, &drawn.witness.writes, place))
                .collect(),
            remarks,
            drawn,
            next,
        })
    }

    /// Whether somebody said whose the writes were that the journal does not know.
    fn decided(&self) -> bool {
        !matches!(self.next, NextHint::Preview { open: true, .. })
    }

    fn filed(&self) -> BTreeSet<EntryNumber> {
        self.lines.iter().map(|(entry, _)| entry.number).collect()
    }

    /// What was done, in the order of time.
    fn time_line(&self, page: &mut Page) {
        enum LoggedOutcome<'d> {
            Action(&'d WireAction),
            Write(&'d WireWrite),
        }
        let witness = &self.drawn.witness;
        let shown = witness.actions.iter().take(SHOWN_ACTIONS).map(|action| (action.at, LoggedOutcome::Action(action)));
        let writes = witness.writes.iter().map(|write| (write.at, LoggedOutcome::Write(write)));
        let mut all: Vec<(Option<OffsetDateTime>, LoggedOutcome<'_>)> = shown.chain(writes).collect();
        all.sort_by_key(|(at, _)| *at);
        page.part("What was done");
        if all.is_empty() {
            page.line("Records were read, and nothing else.");
            return;
        }
        let day = |at: &Option<OffsetDateTime>| at.map(|at| at.to_offset(self.offset).date());
        let one_day = all.first().map(|(at, _)| day(at)) == all.last().map(|(at, _)| day(at));
        let mut table = Table::new(["time", "module", "what", "answer"]).at_least(0, 12);
        for (at, done) in &all {
            let time = if one_day { clock_text(*at, self.offset) } else { date_and_clock(*at, self.offset) };
            match done {
                LoggedOutcome::Action(action) => {
                    table.row([time, action.module.to_string(), action.what.clone(), action.answer.to_string()]);
                }
                LoggedOutcome::Write(write) => table.row([
                    time,
                    write.module.to_string(),
                    format!("record {} written", write.record),
                    answer_text(write),
                ]),
            }
        }
        page.table(&table);
        let more = witness.actions.len().saturating_sub(SHOWN_ACTIONS);
        if more > 0 {
            page.line(&format!("{more} more; the entry has all of them."));
        }
    }

    fn writes(&self, page: &mut Page) {
        let witness = &self.drawn.witness;
        if witness.writes.is_empty() {
            return;
        }
        page.part("Written");
        let filed = self.filed();
        let mut table = Table::new(["setting", "read before", "written", "read again", "by"]);
        for (place, (write, lines)) in witness.writes.iter().zip(&self.written).enumerate() {
            let account =
                accounted_for(&witness.writes, place, self.decided() || !self.drawn.open.contains(&place), &filed);
            // Which reading it is stands below.
            let account = account.split(',').next().filter(|_| write.shown_by.is_some()).unwrap_or(&account).to_owned();
            for line in lines {
                let [found, written, again] =
                    line.values.clone().map(|value| value.unwrap_or_else(|| NOTHING.to_owned()));
                table.row([line.what.clone(), found, written, again, account.clone()]);
            }
        }
        page.table(&table);
        if self.drawn.testers.len() > 1 {
            page.part("Who wrote");
            for tester in &self.drawn.testers {
                let times: Vec<String> =
                    tester.writes.iter().map(|place| clock_text(witness.writes[*place].at, self.offset)).collect();
                page.item(&format!("the tester at {}: {}", tester.addresses.join(", "), times.join(", ")));
            }
        }
    }

    fn end(&self, page: &mut Page) {
        let numbers = match self.lines.as_slice() {
            [(only, _)] => format!("entry {}", only.number),
            [(first, _), .., (last, _)] => format!("entries {} to {}", first.number, last.number),
            [] => return,
        };
        match &self.next {
            NextHint::Filed => page.part(&format!("Filed as {numbers}")),
            NextHint::Preview { open: false, .. } => page.part(&format!("Would be filed as {numbers}")),
            NextHint::Preview { .. } => {}
        }
        if self.decided() {
            for (entry, headline) in &self.lines {
                page.item(&format!("{} {headline}", entry.number));
            }
        }
        let NextHint::Preview { options, open } = &self.next else { return };
        page.gap();
        page.line("Nothing is filed yet.");
        let with = |more: &str| {
            let mut all = options.clone();
            all.extend((!more.is_empty()).then(|| more.to_owned()));
            let with = if all.is_empty() { String::new() } else { format!(" and with {}", all.join(" ")) };
            format!("say the same without `--preview`{with}")
        };
        if *open {
            let claim = if self.drawn.testers.len() > 1 { "--tester ADDRESS --why TEXT" } else { "--why TEXT" };
            page.line(&format!("If it was your work: {}.", with(claim)));
            page.line(&format!("If it was not: {}.", with("--another-hand")));
        } else {
            page.line(&format!("To file it: {}.", with("")));
        }
    }
}

impl Screen for LogFiledScreen {
    fn text(&self, page: &mut Page) {
        let witness = &self.drawn.witness;
        let happened = self.lines.last().map(|(entry, _)| date(entry.happened));
        page.head(&[self.tag.as_str(), "bus log", happened.as_deref().unwrap_or_default()]);
        for log in &witness.logs {
            page.pair("log", &format!("{}, {} bytes", log.name, log.bytes));
            page.pair("SHA-256", log.sha256.as_str());
        }
        let first = witness.logs.iter().filter_map(|log| log.first).min();
        let last = witness.logs.iter().filter_map(|log| log.last).max();
        if let (Some(first), Some(last)) = (first, last) {
            let (from, to) = (first.to_offset(self.offset), last.to_offset(self.offset));
            let end = if from.date() == to.date() {
                clock_text(Some(to), self.offset)
            } else {
                date_and_clock(Some(to), self.offset)
            };
            page.pair("time", &format!("{}, {} to {end}", short_date(from), clock_text(Some(from), self.offset)));
        }
        let mut label = "clock";
        for line in clock_lines(&self.drawn.clock) {
            page.pair(label, &line);
            label = "";
        }
        let mut label = "modules";
        for ModuleLine { module, said, how, bus, mirrored } in &self.modules {
            let same = if mirrored.is_empty() {
                String::new()
            } else {
                format!("; the same was heard on {}", mirrored.join(", "))
            };
            let bus = bus.as_ref().filter(|_| !self.one_bus);
            let bus = bus.map_or_else(String::new, |bus| format!(" on {bus}"));
            page.pair(label, &format!("{module} at {said}{bus}, {how}{same}"));
            label = "";
        }
        self.time_line(page);
        self.writes(page);
        if !self.unplaced.is_empty() {
            page.part("Modules of which nothing tells which they are");
            self.unplaced.iter().for_each(|line| page.item(line));
            page.line("What was read there is not filed. Name them with `--module NAME=REQUEST:RESPONSE`.");
        }
        if !self.drawn.cannot_tell.is_empty() {
            page.part("What the log does not tell");
            for one in &self.drawn.cannot_tell {
                page.item(&cannot_tell_text(one, &witness.writes, self.offset));
            }
        }
        if !self.drawn.left_out.is_empty() {
            page.part("Not taken over");
            self.drawn.left_out.iter().for_each(|one| page.item(&left_out_text(one)));
        }
        if !self.remarks.is_empty() {
            page.gap();
            self.remarks.iter().for_each(|line| page.remark(line));
        }
        self.end(page);
    }

    fn json(&self) -> Value {
        let witness = &self.drawn.witness;
        let at = |at: Option<OffsetDateTime>| at.map(|at| moment(at.to_offset(self.offset)));
        let write = |(place, write): (usize, &WireWrite)| {
            json!({
                "at": at(write.at),
                "module": write.module,
                "record": write.record,
                "found": write.found,
                "written": write.written,
                "answer": write.answer,
                "refusal": write.refusal,
                "read_back": write.read_back,
                "settings": self.written[place].iter().map(|line| json!({
                    "what": line.what,
                    "found": line.values[0],
                    "written": line.values[1],
                    "read_back": line.values[2],
                })).collect::<Vec<_>>(),
                "entry": write.entry,
                "shown_by": write.shown_by,
                "tester": write.tester,
                "own": write.own,
                "mended": write.mended,
                "gap": write.gap,
                "unaccounted": self.drawn.open.contains(&place),
            })
        };
        json!({
            "schema": "asfound/witness/1",
            "vehicle": self.tag,
            "filed": matches!(self.next, NextHint::Filed),
            "logs": witness.logs.iter().map(|log| json!({
                "name": log.name,
                "sha256": log.sha256,
                "bytes": log.bytes,
                "first": at(log.first),
                "last": at(log.last),
            })).collect::<Vec<_>>(),
            "clock": {
                "journal_later_ms": self.drawn.clock.journal_later_ms,
                "spread_ms": self.drawn.clock.spread_ms,
                "writes_found": self.drawn.clock.found,
                "put_later_ms": self.drawn.clock.put_later_ms,
            },
            "modules": self.modules.iter().map(|line| json!({
                "module": line.module,
                "place": line.said,
                "bus": line.bus,
                "known": line.how,
                "mirrored": line.mirrored,
            })).collect::<Vec<_>>(),
            "unplaced": self.unplaced_json,
            "actions": witness.actions.iter().map(|action| json!({
                "at": at(action.at),
                "module": action.module,
                "what": action.what,
                "answer": action.answer,
            })).collect::<Vec<_>>(),
            "writes": witness.writes.iter().enumerate().map(write).collect::<Vec<_>>(),
            "cannot_tell": self.drawn.cannot_tell.iter()
                .map(|one| cannot_tell_text(one, &witness.writes, self.offset)).collect::<Vec<_>>(),
            "not_taken_over": self.drawn.left_out.iter().map(left_out_text).collect::<Vec<_>>(),
            "remarks": self.remarks,
            "restricted": self.drawn.restricted,
            "entries": self.lines.iter().map(|(entry, headline)| {
                let mut head = entry_json(entry, headline);
                // Who files, when and why is told once it is filed.
                for key in ["recorded", "author", "why"] {
                    head.as_object_mut().map(|head| head.remove(key));
                }
                head
            }).collect::<Vec<_>>(),
        })
    }
}
