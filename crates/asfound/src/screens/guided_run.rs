//! What `work` shows: where a walk is and what to do next, and what was filed at its end.

use asfound_core::entry::{Entry, StepOutcome, StepReport, WorkBody};
use asfound_core::names::Tag;
use asfound_core::plan::{Mismatch, NextAction, StatedContent};
use asfound_core::safety::GENERAL_CAUTIONS;
use serde_json::{Value, json};

use super::plan_sheet::{intermediate_json, requests_json};
use super::shared::{entry_json, entry_when, or_nothing};
use super::work_sheet::{look_for, step_head, step_work, told};
use crate::guided_run::OpenRun;
use crate::setup::Screen;
use asfound_report::{Page, Table};

/// Where a walk is.
pub struct RunScreen<'w> {
    /// The vehicle.
    pub tag: &'w Tag,
    /// The walk.
    pub open: &'w OpenRun,
    /// The plan's file, as the command named it.
    pub file: &'w str,
    /// Whether the next question is asked right away, so that no command needs to be named.
    pub asked: bool,
    /// Whether the step at hand was asked to be written some time ago, so that it may have been.
    pub doubt: bool,
}

/// A walk that is over.
pub struct RunOverScreen<'w> {
    /// The vehicle.
    pub tag: &'w Tag,
    /// The walk.
    pub open: &'w OpenRun,
    /// The plan's file, as the command named it.
    pub file: &'w str,
    /// The entry with its headline; nothing where there was nothing to file.
    pub entry: Option<(Entry, String)>,
}

/// What became of each step, as a table.
pub fn steps_text(page: &mut Page, work: &WorkBody) {
    let mut table = Table::new(["step", "where", "outcome", "found", "read back"]).figures(0);
    for (at, step) in work.steps.iter().enumerate() {
        let (found, back) = (or_nothing(step.found.as_ref()), or_nothing(step.read_back.as_ref()));
        let outcome = match &step.answer {
            Some(answer) if !step.outcome.is_made() => format!("{} ({answer})", step.outcome),
            _ => step.outcome.to_string(),
        };
        table.row([(at + 1).to_string(), place(step), outcome, found, back]);
    }
    page.table(&table);
}

fn place(step: &StepReport) -> String {
    match (&step.record, &step.setting) {
        (Some(record), _) => format!("{}:{record}", step.module),
        (None, Some(setting)) => format!("{}.{setting}", step.module),
        (None, None) => step.module.to_string(),
    }
}

impl RunScreen<'_> {
    fn standing(&self, page: &mut Page) {
        let mut table = Table::new(["step", "where", "so far"]).figures(0);
        for (at, step) in self.open.walk.outcomes().iter().enumerate() {
            let here = self.open.walk.at() == Some(at + 1);
            let so_far = match step.outcome {
                StepOutcome::NotMade if here => "at hand".to_owned(),
                StepOutcome::InDoubt
                    if here && !self.doubt && matches!(self.open.walk.next(), NextAction::Answer(_)) =>
                {
                    "to be written now".to_owned()
                }
                StepOutcome::NotMade => "to be made".to_owned(),
                outcome => outcome.to_string(),
            };
            table.row([(at + 1).to_string(), place(step), so_far]);
        }
        page.table(&table);
    }

    fn say(&self, page: &mut Page, options: &[(&str, &str)]) {
        if self.asked {
            return;
        }
        page.gap();
        for (what, option) in options {
            page.line(&format!("{what}: asfound work {} {} {option}", self.tag, self.file));
        }
    }

    fn head(&self, page: &mut Page, number: usize) {
        if let Some(step) = self.open.walk.step(number) {
            step_head(page, step, number, self.open.walk.steps().len());
        }
    }
}

impl Screen for RunScreen<'_> {
    fn text(&self, page: &mut Page) {
        let walk = &self.open.walk;
        let run = format!("walk {} of plan {}", self.open.run, self.open.plan.id);
        page.head(&[self.tag.as_str(), &self.open.plan.wish.aim(), &run]);
        if walk.at() == Some(1) && walk.found(1).is_none() {
            GENERAL_CAUTIONS.iter().for_each(|caution| page.item(caution));
            page.gap();
        }
        self.standing(page);
        let next = walk.next();
        match &next {
            NextAction::Look(number) | NextAction::Unexpected(number, _) => {
                self.head(page, *number);
                let Some(step) = walk.step(*number) else { return };
                look_for(page, step);
                step.cautions.iter().for_each(|caution| page.caution(caution));
                told(page, step.intermediate.as_ref(), &step.remarks);
                if let NextAction::Unexpected(_, unlike) = &next {
                    page.alarm(&format!("found {unlike}: nothing is written."));
                }
                self.say(
                    page,
                    &[
                        ("Read it and say what it says", &format!("--step {number} --found {}", blank(&step.wanted()))),
                        ("Or stop", "--stop --why TEXT"),
                    ],
                );
            }
            NextAction::Answer(number) if self.doubt => self.in_doubt(page, *number),
            NextAction::Write(number, said) => self.write(page, *number, said),
            NextAction::Answer(number) => {
                let Some(step) = walk.step(*number) else { return };
                self.write(page, *number, &step.to_write(walk.found(*number)));
            }
            NextAction::LookFirst(number) => self.in_doubt(page, *number),
            NextAction::ReadBack(number) | NextAction::Otherwise(number, _) => {
                self.head(page, *number);
                let Some(step) = walk.step(*number) else { return };
                page.pair("read back", &step.wanted().to_string());
                if let Some(request) = step.read_request() {
                    page.pair("  request", &request.to_string());
                }
                if let NextAction::Otherwise(_, unlike) = &next {
                    page.alarm(&format!("it reads {unlike}: no other step is made."));
                    page.line("A module may answer with what it said before until it has slept: read it again.");
                }
                self.say(
                    page,
                    &[
                        ("Say what it says", &format!("--step {number} --read-back {}", blank(&step.wanted()))),
                        ("Or stop", "--stop --why TEXT"),
                    ],
                );
            }
            NextAction::File => {
                page.gap();
                page.line("There is nothing more to do at the vehicle.");
                self.say(page, &[("File it", "--why TEXT")]);
            }
            NextAction::Over => {}
        }
    }

    fn json(&self) -> Value {
        walk_json(self.tag, self.open, None, self.doubt)
    }
}

impl RunScreen<'_> {
    fn write(&self, page: &mut Page, number: usize, said: &StatedContent) {
        self.head(page, number);
        if let Some(step) = self.open.walk.step(number) {
            step_work(page, step, said);
        }
        self.say(
            page,
            &[
                ("Write it, then say", &format!("--step {number} --written")),
                ("If it was refused", &format!("--step {number} --refused \"WHAT IT SAID\"")),
                ("If you do not know", &format!("--step {number} --no-answer \"WHAT HAPPENED\"")),
            ],
        );
    }

    fn in_doubt(&self, page: &mut Page, number: usize) {
        self.head(page, number);
        let Some(step) = self.open.walk.step(number) else { return };
        page.alarm("this step is in doubt: it may have been written. Read it before anything else.");
        look_for(page, step);
        page.pair("or, if made", &step.wanted().to_string());
        self.say(
            page,
            &[
                ("Say what it says", &format!("--step {number} --found {}", blank(&step.wanted()))),
                ("Or stop", "--stop --why TEXT"),
            ],
        );
        if matches!(self.open.walk.next(), NextAction::Answer(_)) {
            self.say(page, &[("If you know that it was accepted", &format!("--step {number} --written"))]);
        }
    }
}

fn blank(said: &StatedContent) -> &'static str {
    match said {
        StatedContent::Bytes(_) => "\"BYTES\"",
        StatedContent::Value(_) => "\"VALUE\"",
    }
}

impl Screen for RunOverScreen<'_> {
    fn text(&self, page: &mut Page) {
        let outcomes = self.open.walk.outcomes();
        let work = WorkBody { steps: outcomes, ..WorkBody::default() };
        let Some((entry, _)) = &self.entry else {
            page.head(&[self.tag.as_str(), &self.open.plan.wish.aim(), "nothing was made"]);
            page.line("Nothing was written, so nothing is filed. The plan is as it was.");
            return;
        };
        let number = format!("entry {}", entry.number);
        page.head(&[self.tag.as_str(), &number, entry.body.kind(), &entry_when(entry)]);
        page.pair("why", entry.why.as_str());
        let part = work.part_in_words();
        page.pair("made", part.as_deref().unwrap_or("every step"));
        page.gap();
        steps_text(page, &work);
        page.gap();
        if work.steps.iter().any(|step| step.outcome.is_doubtful()) {
            page.alarm("what is in doubt or was read back otherwise has to be read before it is altered again.");
        }
        let touched = work.steps.iter().filter(|step| step.outcome != StepOutcome::NotMade);
        let mut modules: Vec<&str> = touched.map(|step| step.module.as_str()).collect();
        modules.sort_unstable();
        modules.dedup();
        page.line(&format!(
            "Filed as entry {} (not yet verified). Next: read {} again and file it: asfound read {} FILE --as left",
            entry.number,
            modules.join(", "),
            self.tag,
        ));
        if part.is_some() {
            page.line(&format!("The rest is still a plan: asfound plan show {}", self.file));
        }
    }

    fn json(&self) -> Value {
        walk_json(self.tag, self.open, self.entry.as_ref(), false)
    }
}

fn walk_json(tag: &Tag, open: &OpenRun, entry: Option<&(Entry, String)>, doubt: bool) -> Value {
    let walk = &open.walk;
    let steps = walk.steps().iter().zip(walk.outcomes()).enumerate().map(|(at, (step, done))| {
        json!({
            "number": at + 1,
            "module": step.module,
            "address": step.address,
            "record": done.record,
            "setting": done.setting,
            "expect": step.expected().map(|said| said.to_string()),
            "write": step.wanted().to_string(),
            "volatile_bits": step.volatile().to_string(),
            "requests": requests_json(step),
            "class": step.class,
            "cautions": step.cautions,
            "intermediate": intermediate_json(step.intermediate.as_ref()),
            "remarks": step.remarks,
            "outcome": done.outcome,
            "found": done.found,
            "answer": done.answer,
            "read_back": done.read_back,
        })
    });
    json!({
        "schema": "asfound/work/1",
        "vehicle": tag,
        "plan": open.plan.id,
        "run": open.run,
        "aim": open.plan.wish.aim(),
        "stands_on": open.plan.stands_on,
        "steps": steps.collect::<Vec<_>>(),
        "next": next_json(open, doubt),
        "entry": entry.map(|(entry, headline)| entry_json(entry, headline)),
    })
}

fn next_json(open: &OpenRun, doubt: bool) -> Value {
    let walk = &open.walk;
    let unlike_json = |unlike: &Mismatch| {
        json!({
            "wanted": unlike.wanted.to_string(), "said": unlike.said.to_string(), "bits": unlike.bits.to_string(),
        })
    };
    let asked = |what: &str, step: usize, write: Option<&StatedContent>, unlike: Option<&Mismatch>| {
        let request = write.and_then(|said| walk.step(step)?.write_request(said));
        json!({
            "ask": what, "step": step, "write": write.map(ToString::to_string), "request": request,
            "unlike": unlike.map(unlike_json),
        })
    };
    match walk.next() {
        NextAction::Look(step) => asked("found", step, None, None),
        NextAction::LookFirst(step) => asked("found-first", step, None, None),
        NextAction::Unexpected(step, unlike) => asked("found-again", step, None, Some(&unlike)),
        NextAction::Write(step, said) => asked("written", step, Some(&said), None),
        NextAction::Answer(step) => {
            let said = walk.step(step).map(|at| at.to_write(walk.found(step)));
            asked(if doubt { "found-first" } else { "written" }, step, said.as_ref(), None)
        }
        NextAction::ReadBack(step) => asked("read-back", step, None, None),
        NextAction::Otherwise(step, unlike) => asked("read-back-again", step, None, Some(&unlike)),
        NextAction::File => json!({ "ask": "why", "step": null, "write": null, "request": null, "unlike": null }),
        NextAction::Over => Value::Null,
    }
}
