//! What the commands around work orders show.

use asfound_core::entry::{AuthorisedItem, Body, CorrectedTerm, Entry, OrderTerms, TermSubject};
use asfound_core::names::{SettingName, Tag};
use asfound_core::work_order::{
    HowDone, LineGroup, OrderOutcome, OrderVerdict, OutcomeLine, OutcomeSubject, TermDoubt, WorkOrder,
};
use asfound_journal::journal::AppendedEntry;
use serde_json::{Value, json};

use super::shared::{
    counted, doubt_text, entry_json, open_step_json, open_step_text, or_nothing, proof_json, proof_text,
};
use crate::setup::Screen;
use asfound_report::{Page, Table, date};

const GROUPS: [LineGroup; 8] = [
    LineGroup::WithoutAuthority,
    LineGroup::NotDone,
    LineGroup::Done,
    LineGroup::AgreedAfterwards,
    LineGroup::Withdrawn,
    LineGroup::AnotherHand,
    LineGroup::CannotTell,
    LineGroup::TakenBack,
];

/// An entry about an order that was filed.
pub struct OrderFiled {
    tag: Tag,
    entry: Entry,
    headline: String,
    doubts: Vec<(AuthorisedItem, TermDoubt)>,
}

impl OrderFiled {
    /// The screen for it.
    pub fn new(tag: &Tag, filed: &AppendedEntry, doubts: Vec<(AuthorisedItem, TermDoubt)>) -> Self {
        Self { tag: tag.clone(), entry: filed.entry.clone(), headline: filed.history.headline(&filed.entry), doubts }
    }
}

impl Screen for OrderFiled {
    fn text(&self, page: &mut Page) {
        let (Body::OrderOpened(terms) | Body::OrderExtended(terms)) = &self.entry.body else { return };
        page.head(&[self.tag.as_str(), &format!("order {}", terms.number), self.entry.body.kind()]);
        page.pair("consent", terms.consent.as_str());
        if let Some(estimate) = &terms.estimate {
            page.pair("estimate", estimate.as_str());
        }
        let mut label = "authorised";
        for item in &terms.authorised {
            page.pair(label, &item.to_string());
            label = "";
        }
        let nothing_else = terms.put_right.is_empty() && terms.withdrawn.is_empty();
        if terms.authorised.is_empty() && nothing_else {
            page.pair(label, "nothing to be altered");
        }
        later_terms_text(page, terms);
        page.gap();
        doubts_text(page, &self.tag, &self.doubts);
        let number = self.entry.number;
        page.line(&match self.entry.body {
            Body::OrderOpened(_) => format!("Filed as entry {number}. What is filed from now on belongs to the order."),
            _ => format!("Filed as entry {number}."),
        });
    }

    fn json(&self) -> Value {
        let (Body::OrderOpened(terms) | Body::OrderExtended(terms)) = &self.entry.body else { return Value::Null };
        json!({
            "schema": "asfound/order-filed/1",
            "vehicle": self.tag,
            "entry": entry_json(&self.entry, &self.headline),
            "order": terms.number,
            "consent": terms.consent,
            "estimate": terms.estimate,
            "authorised": terms.authorised,
            "put_right": terms.put_right,
            "withdrawn": terms.withdrawn,
            "doubts": doubts_json(&self.doubts),
        })
    }
}

/// One order, and what it comes to.
pub struct OrderShown {
    /// The vehicle.
    pub tag: Tag,
    /// The order.
    pub order: WorkOrder,
    /// What was authorised against what was done.
    pub outcome: OrderOutcome,
    /// Terms that may not be what was meant.
    pub doubts: Vec<(AuthorisedItem, TermDoubt)>,
}

impl Screen for OrderShown {
    fn text(&self, page: &mut Page) {
        page.head(&[self.tag.as_str(), &format!("order {}", self.order.number), &standing(&self.order)]);
        for (entry, terms) in &self.order.terms {
            page.pair(
                if *entry == self.order.opened { "consent" } else { "more" },
                &format!("{} (entry {entry})", terms.consent),
            );
            if let Some(estimate) = &terms.estimate {
                page.pair("estimate", estimate.as_str());
            }
        }
        if self.outcome.lines.is_empty() {
            page.gap();
            page.line("Nothing is authorised and nothing was altered.");
        }
        for group in GROUPS {
            let mut table = table_of(group);
            for line in self.outcome.of(group) {
                table.row(cells(line));
            }
            if !table.is_empty() {
                page.part(&heading(group));
                page.table(&table);
            }
        }
        page.gap();
        if self.outcome.blocks() {
            page.alarm("the order cannot be closed while work without authority stands");
        }
        for line in self.outcome.of(LineGroup::Withdrawn) {
            if let OrderVerdict::Withdrawn { done: Some(done), .. } = line.verdict {
                let what = &line.what;
                page.caution(&format!("{what} was withdrawn after it was done: it still is as entry {done} left it"));
            }
        }
        self.outcome.open_steps.iter().for_each(|doubt| page.alarm(&open_step_text(doubt)));
        doubts_text(page, &self.tag, &self.doubts);
        if !self.outcome.read_after_work {
            page.caution("no reading as left was taken since the last work: what was done is stated, not read back");
        }
        match (self.order.closed, self.outcome.blocks()) {
            (Some(closed), _) => page.line(&format!("Closed with entry {closed}.")),
            (None, false) => page.line(&format!("Next: asfound order close {}", self.tag)),
            (None, true) => {}
        }
    }

    fn json(&self) -> Value {
        let mut order = order_json(&self.tag, &self.order, &self.outcome);
        order["schema"] = json!("asfound/order/1");
        order["vehicle"] = json!(self.tag);
        order["doubts"] = doubts_json(&self.doubts);
        order["read_after_work"] = json!(self.outcome.read_after_work);
        order["in_doubt"] = self.outcome.open_steps.iter().map(open_step_json).collect();
        order
    }
}

/// All orders of a vehicle.
pub struct OrdersShown {
    /// The vehicle.
    pub tag: Tag,
    /// The orders, and what each comes to.
    pub lines: Vec<(WorkOrder, OrderOutcome)>,
}

impl Screen for OrdersShown {
    fn text(&self, page: &mut Page) {
        page.head(&[self.tag.as_str(), &counted(self.lines.len(), "order", "orders")]);
        let mut table = Table::new(["order", "entries", "standing", "done", "not done", "no authority"])
            .figures(3)
            .figures(4)
            .figures(5);
        for (order, outcome) in &self.lines {
            let count = |group| outcome.of(group).count().to_string();
            let until = order.closed.map_or_else(String::new, |closed| closed.to_string());
            table.row([
                order.number.to_string(),
                format!("{}–{until}", order.opened),
                standing(order),
                (outcome.of(LineGroup::Done).count() + outcome.of(LineGroup::AgreedAfterwards).count()).to_string(),
                count(LineGroup::NotDone),
                count(LineGroup::WithoutAuthority),
            ]);
        }
        page.table(&table);
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/orders/1",
            "vehicle": self.tag,
            "orders": self.lines.iter().map(|(order, outcome)| order_json(&self.tag, order, outcome)).collect::<Vec<_>>(),
        })
    }
}

/// What was put right and withdrawn with a consent.
pub(super) fn later_terms_text(page: &mut Page, terms: &OrderTerms) {
    for CorrectedTerm { term, meant } in &terms.put_right {
        page.pair("put right", &format!("{term}, meant: {meant}"));
    }
    for subject in &terms.withdrawn {
        page.pair("withdrawn", &subject.to_string());
    }
}

/// What there is to doubt in terms, with the next step.
fn doubts_text(page: &mut Page, tag: &Tag, doubts: &[(AuthorisedItem, TermDoubt)]) {
    for (item, doubt) in doubts {
        let subject = item.subject();
        let put_right =
            |near: String| format!("did you mean `{near}`? asfound order put-right {tag} {subject} --meant …");
        let (what, next) = match doubt {
            TermDoubt::UnknownModule { near } => {
                ("no module of that name is known".to_owned(), put_right(near.to_string()))
            }
            TermDoubt::NothingKnown => {
                ("nothing is known of that module yet".to_owned(), "`asfound order show` looks again".to_owned())
            }
            TermDoubt::UnknownSetting { near } => (
                "nothing that is known of the module has such a setting".to_owned(),
                match near {
                    Some(near) => put_right(with_setting(&subject, near)),
                    None => "`asfound settings` and `asfound explain` list what is known".to_owned(),
                },
            ),
            TermDoubt::UnknownValue { reason } => {
                (reason.clone(), format!("`asfound explain {subject}` lists its values"))
            }
        };
        page.remark(&format!("{item}: {what}; {next}"));
    }
}

fn with_setting(subject: &TermSubject, near: &SettingName) -> String {
    match subject {
        TermSubject::Setting { setting } => format!("{}.{near}", setting.module),
        other => other.to_string(),
    }
}

fn doubts_json(doubts: &[(AuthorisedItem, TermDoubt)]) -> Value {
    let one = |(item, doubt): &(AuthorisedItem, TermDoubt)| {
        let (word, near) = match doubt {
            TermDoubt::UnknownModule { near } => ("unknown-module", Some(near.to_string())),
            TermDoubt::NothingKnown => ("nothing-known", None),
            TermDoubt::UnknownSetting { near } => {
                ("unknown-setting", near.as_ref().map(|near| with_setting(&item.subject(), near)))
            }
            TermDoubt::UnknownValue { .. } => ("unknown-value", None),
        };
        json!({ "term": item.subject().to_string(), "doubt": word, "near": near })
    };
    doubts.iter().map(one).collect()
}

/// A word for programs.
pub(super) fn group_word(group: LineGroup) -> String {
    group.to_string().replace(", ", "-").replace(' ', "-")
}

fn heading(group: LineGroup) -> String {
    let text = group.to_string();
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// `open since 14 March 2026`
fn standing(order: &WorkOrder) -> String {
    match order.closed_at {
        Some(closed) => format!("closed {}", date(closed)),
        None => format!("open since {}", date(order.opened_at)),
    }
}

/// What is done is as it was authorised, and what nobody authorised has no such value: only the rest needs a column for it.
fn table_of(group: LineGroup) -> Table {
    match group {
        LineGroup::NotDone => Table::new(["setting", "as found", "authorised", "now"]),
        LineGroup::Withdrawn => Table::new(["setting", "agreed to", "now", "withdrawn in"]),
        _ => Table::new(["setting", "as found", "as left", "shown by"]),
    }
}

fn cells(line: &OutcomeLine) -> [String; 4] {
    let (what, found, left) = (line.what.to_string(), or_nothing(line.found.as_ref()), or_nothing(line.left.as_ref()));
    match line.verdict {
        OrderVerdict::NotDone => [what, found, or_nothing(line.authorised.as_ref()), left],
        OrderVerdict::Withdrawn { withdrawn, done } => {
            let before = done.map(|done| format!(", done in entry {done}")).unwrap_or_default();
            [what, or_nothing(line.authorised.as_ref()), left, format!("entry {withdrawn}{before}")]
        }
        OrderVerdict::AgreedAfterwards { consent, .. } => {
            [what, found, left, format!("{}; agreed to in entry {consent}", shown_by(&line.verdict))]
        }
        _ => [what, found, left, shown_by(&line.verdict)],
    }
}

fn shown_by(verdict: &OrderVerdict) -> String {
    match verdict {
        OrderVerdict::Done(how) | OrderVerdict::AgreedAfterwards { how, .. } => match how {
            HowDone::Recorded { entry, proof } => format!("entry {entry}, {}", proof_text(*proof)),
            HowDone::Seen(seen) => format!("read in entry {seen}"),
            HowDone::WithUnit(seen) => format!("came with the module, read in entry {seen}"),
            HowDone::WasSo => "it was so already".to_owned(),
        },
        OrderVerdict::WithoutAuthority { entry, proof } => format!("entry {entry}, {}", proof_text(*proof)),
        OrderVerdict::NotDone | OrderVerdict::Withdrawn { .. } => String::new(),
        OrderVerdict::AnotherHand { kind, seen } => format!("{kind}, read in entry {seen}"),
        OrderVerdict::CannotTell { doubt, seen } => format!("{}, read in entry {seen}", doubt_text(*doubt)),
        OrderVerdict::TakenBack { entry } => format!("entry {entry}"),
    }
}

fn order_json(tag: &Tag, order: &WorkOrder, outcome: &OrderOutcome) -> Value {
    let terms = order.terms.iter().map(|(entry, terms)| {
        json!({
            "entry": entry,
            "consent": terms.consent,
            "estimate": terms.estimate,
            "authorised": terms.authorised,
            "put_right": terms.put_right,
            "withdrawn": terms.withdrawn,
        })
    });
    json!({
        "vehicle": tag,
        "order": order.number,
        "opened": order.opened,
        "closed": order.closed,
        "terms": terms.collect::<Vec<_>>(),
        "can_be_closed": !outcome.blocks(),
        "lines": outcome.lines.iter().map(line_json).collect::<Vec<_>>(),
    })
}

fn line_json(line: &OutcomeLine) -> Value {
    let (entry, proof, how) = match line.verdict {
        OrderVerdict::Done(how) | OrderVerdict::AgreedAfterwards { how, .. } => match how {
            HowDone::Recorded { entry, proof } => (Some(entry), Some(proof), Some("recorded")),
            HowDone::Seen(entry) => (Some(entry), None, Some("seen")),
            HowDone::WithUnit(entry) => (Some(entry), None, Some("with-unit")),
            HowDone::WasSo => (None, None, Some("was-so")),
        },
        OrderVerdict::Withdrawn { done, .. } => (done, None, None),
        OrderVerdict::WithoutAuthority { entry, proof } => (Some(entry), Some(proof), None),
        OrderVerdict::AnotherHand { seen, .. } | OrderVerdict::CannotTell { seen, .. } => (Some(seen), None, None),
        OrderVerdict::TakenBack { entry } => (Some(entry), None, None),
        OrderVerdict::NotDone => (None, None, None),
    };
    let what = match &line.what {
        OutcomeSubject::Field(_) => "field",
        OutcomeSubject::Record(..) => "record",
        OutcomeSubject::Unit(_) => "module",
    };
    let hand = match line.verdict {
        OrderVerdict::AnotherHand { kind, .. } => Some(kind.to_string()),
        OrderVerdict::CannotTell { doubt, .. } => Some(doubt.as_str().to_owned()),
        _ => None,
    };
    let said_in = match line.verdict {
        OrderVerdict::AgreedAfterwards { consent, .. } => Some(consent),
        OrderVerdict::Withdrawn { withdrawn, .. } => Some(withdrawn),
        _ => None,
    };
    json!({
        "group": group_word(line.verdict.group()),
        "kind": what,
        "what": match &line.what { OutcomeSubject::Unit(module) => module.to_string(), what => what.to_string() },
        "authorised": line.authorised,
        "found": line.found,
        "left": line.left,
        "entry": entry,
        "how": how,
        "said_in": said_in,
        "hand": hand,
        "proof": proof.map(proof_json),
    })
}
