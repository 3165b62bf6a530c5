//! The steps of a plan, as they stand on the sheet of work that was filed; and a plan in JSON.

use asfound_core::plan::{Intermediate, Plan, SavedStep, Step, Write};
use asfound_core::safety::GENERAL_CAUTIONS;
use asfound_core::value::BitMask;
use serde_json::{Value, json};

use super::shared::{ContentJson, class_text, or_nothing, side_by_side};
use super::work_sheet::told;
use asfound_report::{NOTHING, Page, Table};

/// The settings of all steps as found and as left, the steps, and what is left out.
pub fn plan_text(page: &mut Page, plan: &Plan) {
    let mut table = Table::new(["setting", "as found", "as left"]);
    for (path, found, left) in plan.alterations() {
        // What was altered for a time only has come back.
        if found.is_some_and(|found| found.same(left)) {
            continue;
        }
        let [found, left] = side_by_side(found, Some(left));
        table.row([path.to_string(), found, left]);
    }
    if !table.is_empty() {
        page.table(&table);
    }
    for (at, step) in plan.steps.iter().enumerate() {
        step_text(page, step, at + 1, plan.steps.len());
    }
    if !plan.settled.is_empty() || !plan.blocked.is_empty() || !plan.broken_before.is_empty() {
        page.gap();
    }
    for field in &plan.settled {
        page.line(&format!("{field} is as wanted already."));
    }
    for blocked in &plan.blocked {
        page.alarm(&format!("{} stays as it is: {}", blocked.field, blocked.why));
    }
    for breach in &plan.broken_before {
        page.remark(&format!("the rule {} is broken already: {}", breach.rule, breach.because));
    }
    if !plan.steps.is_empty() {
        page.part("Cautions");
        for caution in GENERAL_CAUTIONS {
            page.item(caution);
        }
    }
}

fn step_text(page: &mut Page, step: &Step, number: usize, of: usize) {
    let what = match &step.write {
        Write::Record { record, .. } | Write::BlindRecord { record, .. } => format!("record {record}"),
        Write::ByName { setting, .. } => format!("setting {setting}, by name"),
    };
    let address = step.address.map(|address| format!(" at {address}")).unwrap_or_default();
    page.part(&format!("Step {number} of {of}: {}{address}, {what}", step.module));
    page.pair("class", &class_text(step.class, &step.restricted));
    match &step.write {
        Write::Record { expect, write, volatile, .. } => {
            page.pair("as found", &expect.to_string());
            page.pair("as left", &write.to_string());
            page.pair("differs in", &BitMask::differing(expect.as_slice(), write.as_slice()).to_string());
            if !volatile.is_empty() {
                page.pair("of no account", &format!("{volatile}, which changes by itself"));
            }
        }
        Write::BlindRecord { expect, write, .. } => {
            page.pair("as found", &or_nothing(expect.as_ref()));
            page.pair("as left", &write.to_string());
        }
        Write::ByName { expect, write, .. } => {
            page.pair("as found", expect.as_deref().unwrap_or(NOTHING));
            page.pair("as left", write);
        }
    }
    for caution in &step.cautions {
        page.caution(caution);
    }
    told(page, step.intermediate.as_ref(), &step.remarks);
}

/// A plan in JSON.
pub fn plan_json(plan: &Plan) -> Value {
    json!({
        "stands_on": plan.stands_on,
        "steps": plan.steps.iter().map(step_json).collect::<Vec<_>>(),
        "settled": plan.settled.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "blocked": plan.blocked.iter()
            .map(|blocked| json!({ "field": blocked.field.to_string(), "why": blocked.why }))
            .collect::<Vec<_>>(),
        "rules_broken_before": plan.broken_before.iter()
            .map(|breach| json!({ "rule": breach.rule, "because": breach.because }))
            .collect::<Vec<_>>(),
        "cautions": GENERAL_CAUTIONS,
    })
}

fn step_json(step: &Step) -> Value {
    let write = match &step.write {
        Write::Record { record, expect, write, volatile } => json!({
            "record": record, "setting": null, "expect": expect, "write": write, "verify": write,
            "volatile_bits": volatile.to_string(),
        }),
        Write::BlindRecord { record, expect, write } => json!({
            "record": record, "setting": null, "expect": expect, "write": write, "verify": write,
            "volatile_bits": "",
        }),
        Write::ByName { setting, expect, write } => json!({
            "record": null, "setting": setting, "expect": expect, "write": write, "verify": write,
            "volatile_bits": "",
        }),
    };
    json!({
        "module": step.module,
        "address": step.address,
        "write": write,
        "requests": requests_json(&SavedStep::of(step)),
        "settings": step.settings.iter().map(|setting| json!({
            "setting": format!("{}.{}", step.module, setting.setting),
            "label": setting.label,
            "found": setting.found.as_ref().map(ContentJson::of),
            "left": ContentJson::of(&setting.left),
        })).collect::<Vec<_>>(),
        "undeclared_bits": step.undeclared.to_string(),
        "class": step.class,
        "restricted": step.restricted,
        "cautions": step.cautions,
        "definition": step.definition,
        "intermediate": intermediate_json(step.intermediate.as_ref()),
        "remarks": step.remarks,
    })
}

/// Why a step leaves something that is not wanted yet, in JSON; nothing where it does not.
pub fn intermediate_json(intermediate: Option<&Intermediate>) -> Value {
    intermediate.map_or(Value::Null, |it| json!({ "rules": it.rules, "for_a_time": it.for_a_time }))
}

/// The requests of a step in JSON; nothing where it has no data identifier.
pub fn requests_json(step: &SavedStep) -> Value {
    match (step.read_request(), step.write_request(&step.wanted())) {
        (Some(read), Some(write)) => json!({ "read": read, "write": write }),
        _ => Value::Null,
    }
}
