//! The work sheet: what a plan asks to be done, step by step, for whoever does it without the program.

use asfound_core::entry::Acknowledgement;
use asfound_core::history::OpenStep;
use asfound_core::names::Tag;
use asfound_core::plan::{
    ExpectedChange, Intermediate, Plan, Preview, STALE_AFTER_MONTHS, SavedStep, SavedWrite, SheetCode, StatedContent,
    acknowledge, age_in_words, open_steps_about, preview,
};
use asfound_core::safety::{GENERAL_CAUTIONS, SafetyTag};
use asfound_core::value::BitMask;
use serde_json::{Value, json};
use time::OffsetDateTime;

use super::plan_sheet::plan_json;
use super::shared::{ContentJson, class_text, moment, open_step_json, open_step_text, side_by_side};
use crate::arguments::{acknowledgement_options, with_options};
use crate::followed_sheet::steps_of;
use crate::setup::{Screen, TracedJournal};
use asfound_report::{Page, Table};

/// A plan that is shown and not filed.
pub struct WorkSheet {
    tag: Tag,
    aim: String,
    plan: Plan,
    steps: Vec<SavedStep>,
    /// What tells this sheet from every other.
    pub code: SheetCode,
    /// Earlier steps, to the same places, of which nobody knows what became of them.
    pub open_steps: Vec<OpenStep>,
    preview: Vec<Preview>,
    now: OffsetDateTime,
    /// What to say when every step is made.
    pub next: String,
    saved: Option<String>,
    /// The restricted systems that nobody has acknowledged.
    pub missing: Vec<SafetyTag>,
    /// Whether the file has just been written.
    pub is_new: bool,
    /// What else is worth knowing.
    pub remarks: Vec<String>,
}

impl WorkSheet {
    /// The sheet, without what to say next; `saved` is the file that holds the plan.
    pub fn new(known: &TracedJournal, now: OffsetDateTime, aim: String, plan: Plan, saved: Option<String>) -> Self {
        let preview = preview(&known.history, &known.definitions, &plan, now);
        let tag = known.tag.clone();
        let steps = steps_of(&plan);
        let code = SheetCode::of(&tag, &steps);
        let open_steps = open_steps_about(&known.history, &known.definitions, steps.iter().map(SavedStep::place));
        let (next, missing, remarks) = (String::new(), Vec::new(), Vec::new());
        Self { tag, aim, plan, steps, code, open_steps, preview, now, next, saved, missing, is_new: true, remarks }
    }

    /// Finds out what has to be acknowledged yet.
    pub fn hold_against(&mut self, acknowledgements: &[Acknowledgement]) {
        self.missing = acknowledge(&self.plan, acknowledgements).err().map(|missing| missing.0).unwrap_or_default();
    }

    fn outlook(&self, outlook: ExpectedChange) -> String {
        match outlook {
            ExpectedChange::WillChange => "yes".to_owned(),
            ExpectedChange::AsWanted => "no, it is as wanted".to_owned(),
            ExpectedChange::ForATime => "for a time only".to_owned(),
            ExpectedChange::NeverRead => "cannot tell: never read".to_owned(),
            ExpectedChange::ReadLongAgo { reading, taken } => {
                format!("cannot tell: last read {} (entry {reading})", age_in_words(taken, self.now))
            }
        }
    }
}

impl Screen for WorkSheet {
    fn text(&self, page: &mut Page) {
        let stands_on = format!("stands on entry {}", self.plan.stands_on);
        page.head(&[self.tag.as_str(), &self.aim, "not carried out yet", &stands_on]);
        for open in &self.open_steps {
            page.alarm(&open_step_text(open));
        }
        for remark in &self.remarks {
            page.remark(remark);
        }
        if !self.missing.is_empty() {
            let tags: Vec<&str> = self.missing.iter().map(|tag| tag.as_str()).collect();
            page.alarm(&format!(
                "restricted ({}): for a qualified technician. To carry it out or to file it, somebody has to acknowledge \
                 it by name and grounds: {}",
                tags.join(", "),
                acknowledgement_options(&self.missing)
            ));
        }
        if !self.plan.steps.is_empty() {
            page.part("For every step");
            GENERAL_CAUTIONS.iter().for_each(|caution| page.item(caution));
            page.gap();
        }
        if !self.preview.is_empty() {
            let mut table = Table::new(["setting", "as found", "as left", "will it change"]);
            for line in &self.preview {
                let [found, left] = side_by_side(line.found.as_ref(), line.left.as_ref());
                let field = line.field.altered(line.found.as_ref(), line.left.as_ref());
                table.row([field, found, left, self.outlook(line.outlook)]);
            }
            page.table(&table);
        }
        let steps = &self.steps;
        for (at, step) in steps.iter().enumerate() {
            step_head(page, step, at + 1, steps.len());
            step_work(page, step, &step.wanted());
        }
        if !self.plan.blocked.is_empty() || !self.plan.broken_before.is_empty() {
            page.gap();
        }
        for blocked in &self.plan.blocked {
            page.alarm(&format!("{} stays as it is: {}", blocked.field, blocked.why));
        }
        for breach in &self.plan.broken_before {
            page.remark(&format!("the rule {} is broken already: {}", breach.rule, breach.because));
        }
        if steps.is_empty() {
            return;
        }
        page.gap();
        if let Some(file) = &self.saved {
            if self.is_new {
                page.line(&format!("Saved as {file}."));
            }
            let walk = format!("asfound work {} {file}", self.tag);
            let missing = (!self.missing.is_empty()).then(|| acknowledgement_options(&self.missing));
            page.line(&format!("To go through it step by step: {}", with_options(&walk, missing.as_ref())));
        }
        page.line(&format!("Code of this sheet: {}", self.code));
        page.line(&format!("When every step is made: {}", self.next));
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/plan/1",
            "vehicle": self.tag,
            "aim": self.aim,
            "sheet": (!self.steps.is_empty()).then(|| self.code.to_string()),
            "in_doubt": self.open_steps.iter().map(open_step_json).collect::<Vec<_>>(),
            "plan": plan_json(&self.plan),
            "preview": self.preview.iter().map(|line| {
                let (outlook, read) = match line.outlook {
                    ExpectedChange::WillChange => ("will-change", Value::Null),
                    ExpectedChange::AsWanted => ("as-wanted", Value::Null),
                    ExpectedChange::ForATime => ("for-a-time", Value::Null),
                    ExpectedChange::NeverRead => ("cannot-tell", Value::Null),
                    ExpectedChange::ReadLongAgo { reading, taken } => (
                        "cannot-tell",
                        json!({ "entry": reading, "taken": moment(taken), "age": age_in_words(taken, self.now) }),
                    ),
                };
                json!({
                    "field": line.field.to_string(),
                    "found": line.found.as_ref().map(ContentJson::of),
                    "left": line.left.as_ref().map(ContentJson::of),
                    "outlook": outlook,
                    "last_read": read,
                })
            }).collect::<Vec<_>>(),
            "stale_after_months": STALE_AFTER_MONTHS,
            "saved": self.saved,
            "acknowledgements_missing": self.missing,
            "remarks": self.remarks,
        })
    }
}

/// The head of a step, with its class of care.
pub fn step_head(page: &mut Page, step: &SavedStep, number: usize, of: usize) {
    let what = match &step.write {
        SavedWrite::Record { record, .. } => format!("record {record}"),
        SavedWrite::Setting { setting, .. } => format!("setting {setting}, by name"),
    };
    let address = step.address.map(|address| format!(" at {address}")).unwrap_or_default();
    page.part(&format!("Step {number} of {of}: {}{address}, {what}", step.module));
    page.pair("class", &class_text(step.class, &step.restricted));
}

/// What is to be done in a step: look, set, read afterwards.
pub fn step_work(page: &mut Page, step: &SavedStep, write: &StatedContent) {
    look_for(page, step);
    let by_name = matches!(step.write, SavedWrite::Setting { .. });
    page.pair(if by_name { "set to" } else { "write" }, &write.to_string());
    if let Some(request) = step.write_request(write) {
        page.pair("  request", &request.to_string());
    }
    if let (Some(StatedContent::Bytes(found)), StatedContent::Bytes(left)) = (step.expected(), write) {
        let mut differing = BitMask::differing(found.as_slice(), left.as_slice());
        differing.remove(&step.volatile());
        page.pair("differs in", &differing.to_string());
    }
    if !by_name {
        for setting in &step.settings {
            let found = setting.found.as_deref().unwrap_or("?");
            page.pair("by name", &format!("{} {found} -> {}", setting.setting, setting.left));
        }
    }
    page.pair("then read", &step.wanted().to_string());
    let volatile = step.volatile();
    if !volatile.is_empty() {
        page.pair("of no account", &format!("{volatile}, which changes by itself: written as found"));
    }
    for caution in &step.cautions {
        page.caution(caution);
    }
    told(page, step.intermediate.as_ref(), &step.remarks);
}

/// Why a step leaves something that is not wanted yet, and what else is to be known of it.
pub fn told(page: &mut Page, intermediate: Option<&Intermediate>, remarks: &[String]) {
    if let Some(intermediate) = intermediate {
        let rules: Vec<&str> = intermediate.rules.iter().map(|rule| rule.as_str()).collect();
        let because = match &rules[..] {
            [] => "because of the rules between settings".to_owned(),
            [rule] => format!("because of the rule {rule}"),
            rules => format!("because of the rules {}", rules.join(", ")),
        };
        page.remark(&format!("not yet as wanted, {because}: a later step of this plan completes it"));
        for setting in &intermediate.for_a_time {
            page.remark(&format!("{setting} gets this value for a time only"));
        }
    }
    for remark in remarks {
        page.remark(remark);
    }
}

/// What to look for before anything is written.
pub fn look_for(page: &mut Page, step: &SavedStep) {
    let expected = step.expected().map_or_else(|| "not known".to_owned(), |said| said.to_string());
    page.pair("look for", &expected);
    if let Some(request) = step.read_request() {
        page.pair("  request", &request.to_string());
    }
}
