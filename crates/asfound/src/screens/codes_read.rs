//! The trouble codes of a reading against the last scan before, as `read` shows them.

use std::collections::BTreeSet;

use asfound_core::entry::ReadingBody;
use asfound_core::names::ModuleName;
use asfound_core::safety::SafetyTag;
use asfound_core::state::State;
use asfound_core::suspects::{Circumstance, common_circumstance};
use asfound_core::trouble_code::{CodeGroups, compare_codes, technician_first};
use serde_json::{Value, json};

use super::comparison::{code_list, not_examined, status_changed_json, status_lines};
use super::shared::quoted;
use crate::setup::DefinedJournal;
use asfound_report::{Page, Table};

/// The trouble codes of one module against its last scan before.
struct ModuleCodes {
    module: ModuleName,
    scanned_before: bool,
    groups: CodeGroups,
}

/// The trouble codes of a reading.
pub struct CodesRead {
    modules: Vec<ModuleCodes>,
    /// Modules that are known and were not scanned by this reading.
    pub not_examined: Vec<ModuleName>,
    circumstance: Option<Circumstance>,
    care: BTreeSet<SafetyTag>,
    /// The vehicle and the first new code, for the next command.
    next: Option<String>,
}

impl CodesRead {
    /// Compares a reading's codes with what was known `before` it.
    pub fn new(known: &DefinedJournal, before: &State, reading: &ReadingBody) -> Self {
        let (mut modules, mut care, mut next) = (Vec::new(), BTreeSet::new(), None);
        for (module, covered) in &reading.covered {
            let Some(now) = &covered.trouble_codes else { continue };
            let scanned = before.module(module).and_then(|known| known.codes.as_ref());
            let groups = compare_codes(scanned.map(|scanned| scanned.codes.as_slice()).unwrap_or_default(), now);
            let identity = before.identity(module);
            let definition = known.definitions.fitting(module, &identity).ok().flatten();
            let systems = definition.map_or(&[][..], |definition| definition.systems());
            for new in groups.new.iter().filter(|_| scanned.is_some()) {
                care.extend(technician_first(&new.code, module, systems));
                next.get_or_insert_with(|| {
                    format!("asfound suspects {} {} --module {module}", known.tag, quoted(&new.code.to_string()))
                });
            }
            modules.push(ModuleCodes { module: module.clone(), scanned_before: scanned.is_some(), groups });
        }
        let scanned = |module: &ModuleName| modules.iter().any(|of| of.module == *module);
        let all: BTreeSet<&ModuleName> = before.modules.keys().chain(reading.covered.keys()).collect();
        let not_examined = all.into_iter().filter(|module| !scanned(module)).cloned().collect();
        let circumstance = common_circumstance(before, reading);
        Self { modules, not_examined, circumstance, care, next }
    }

    /// Shows them; a common circumstance comes first.
    pub fn text(&self, page: &mut Page) {
        if let Some(circumstance) = &self.circumstance {
            circumstance_text(page, circumstance);
        }
        let mut table = Table::new(["trouble codes", "there before", "new", "gone"]);
        for of in self.modules.iter().filter(|of| !of.groups.is_empty()) {
            let new = code_list(&of.groups.new);
            table.row([
                of.module.to_string(),
                code_list(&of.groups.there_before),
                if of.scanned_before { new } else { format!("{new} (first scan)") },
                code_list(&of.groups.gone),
            ]);
        }
        if !table.is_empty() {
            page.gap();
            page.table(&table);
            for of in &self.modules {
                status_lines(&of.module, &of.groups).iter().for_each(|line| page.line(line));
            }
        }
        // Where nothing was scanned at all, nobody expects codes; where some were, silence would read as "none".
        if !self.not_examined.is_empty() && !self.modules.is_empty() {
            let names: Vec<&str> = self.not_examined.iter().map(ModuleName::as_str).collect();
            page.gap();
            page.line(&not_examined(&names, false));
        }
        if !self.care.is_empty() {
            page.remark(&care_words(&self.care));
        }
        if let Some(next) = &self.next {
            page.gap();
            page.line("What was altered before the new code came:");
            page.item(next);
        }
    }

    /// The codes by module, in JSON.
    pub fn json(&self) -> Vec<Value> {
        let of_module = |of: &ModuleCodes| {
            json!({
                "module": of.module,
                "scanned_before": of.scanned_before,
                "there_before": of.groups.there_before,
                "new": of.groups.new,
                "gone": of.groups.gone,
                "status_changed": status_changed_json(&of.groups),
            })
        };
        self.modules.iter().map(of_module).collect()
    }

    /// The common circumstance, in JSON.
    pub fn circumstance_json(&self) -> Value {
        self.circumstance.as_ref().map_or(Value::Null, circumstance_json)
    }
}

/// One probable common circumstance, said before anything else.
pub fn circumstance_text(page: &mut Page, circumstance: &Circumstance) {
    page.part("One probable common circumstance: supply or communication");
    circumstance.signs().iter().for_each(|sign| page.item(sign));
    page.line("Look at battery, grounds and bus first, and read again, before anything that was altered is suspected.");
}

/// The common circumstance, in JSON.
pub fn circumstance_json(circumstance: &Circumstance) -> Value {
    json!({
        "low_voltage": circumstance.low_voltage,
        "did_not_answer": circumstance.did_not_answer,
        "communication": circumstance.communication.iter()
            .map(|(module, codes)| json!({ "module": module, "codes": codes }))
            .collect::<Vec<_>>(),
    })
}

/// That a technician looks first.
pub fn care_words(systems: &BTreeSet<SafetyTag>) -> String {
    let names: Vec<&str> = systems.iter().map(|tag| tag.as_str()).collect();
    format!(
        "{} may be concerned: a qualified technician should look before anything is tried; \
         local law and the maker's procedure come first",
        names.join(", ")
    )
}
