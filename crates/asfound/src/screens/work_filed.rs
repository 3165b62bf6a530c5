//! What filing a change or a put-back shows.

use asfound_core::entry::Entry;
use asfound_core::history::Proof;
use asfound_core::names::Tag;
use asfound_core::plan::{Plan, Write, headline};
use asfound_journal::journal::AppendedEntry;
use serde_json::{Value, json};

use super::plan_sheet::{plan_json, plan_text};
use super::shared::{entry_json, entry_when, proof_json};
use crate::setup::Screen;
use asfound_report::Page;

/// Work that was filed.
pub struct WorkFiled {
    tag: Tag,
    entry: Entry,
    headline: String,
    plan: Plan,
}

impl WorkFiled {
    /// The screen for it.
    pub fn new(tag: &Tag, filed: &AppendedEntry, plan: Plan) -> Self {
        let headline = headline(&filed.history, &filed.entry);
        Self { tag: tag.clone(), entry: filed.entry.clone(), headline, plan }
    }
}

impl Screen for WorkFiled {
    fn text(&self, page: &mut Page) {
        let number = format!("entry {}", self.entry.number);
        page.head(&[self.tag.as_str(), &number, self.entry.body.kind(), &entry_when(&self.entry)]);
        page.pair("why", self.entry.why.as_str());
        page.gap();
        plan_text(page, &self.plan);
        page.gap();
        if let Some(work) = self.entry.body.work() {
            for acknowledged in &work.acknowledgements {
                let (tag, name, grounds) = (acknowledged.tag, &acknowledged.name, &acknowledged.grounds);
                page.line(&format!("Acknowledged ({tag}) by {name}: {grounds}"));
            }
            if work.one_way {
                page.alarm("one-way: what was there before is not known, so there is no way back");
            }
        }
        let mut modules: Vec<&str> = self.plan.steps.iter().map(|step| step.module.as_str()).collect();
        modules.sort_unstable();
        modules.dedup();
        let by_name = self.plan.steps.iter().all(|step| matches!(step.write, Write::ByName { .. }));
        page.line(&format!(
            "Filed as entry {} (not yet verified). Next: {} ({}) again and file it: asfound read {} FILE --as left",
            self.entry.number,
            if by_name { "look the setting up" } else { "read the module" },
            modules.join(", "),
            self.tag,
        ));
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/work-filed/1",
            "vehicle": self.tag,
            "entry": entry_json(&self.entry, &self.headline),
            "proof": proof_json(Proof::Stated),
            "plan": plan_json(&self.plan),
            "acknowledgements": self.entry.body.work().map(|work| &work.acknowledgements),
            "one_way": self.entry.body.work().is_some_and(|work| work.one_way),
        })
    }
}
