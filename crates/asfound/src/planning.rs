//! What stands between targets and a plan: why there is none, what has to be acknowledged, whether there is anything to do.

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::Acknowledgement;
use asfound_core::history::History;
use asfound_core::plan::{Allowance, Clearance, Plan, PlanRefusal, RuleCycle, Targets, acknowledge, plan};

use crate::arguments::acknowledgement_options;
use crate::exit::Exit;
use crate::failure::Failure;

/// Why there is no plan, told to people.
pub fn refusal(refusal: &PlanRefusal) -> Failure {
    let mut message = refusal.to_string();
    let mut line = |text: String| message.push_str(&format!("\n  {text}"));
    match refusal {
        PlanRefusal::Blocked(blockers) => blockers.iter().for_each(|blocker| {
            let later: Vec<String> = blocker.in_the_way.iter().map(ToString::to_string).collect();
            line(format!("{}: entry {}, then entry {}", blocker.field, blocker.wanted, later.join(", ")));
        }),
        PlanRefusal::BreaksRules(breaches) => breaches.iter().for_each(|breach| {
            line(format!("{}: {}", breach.rule, breach.because));
            for (path, value) in &breach.settings {
                line(format!("  {path} = {value}"));
            }
        }),
        PlanRefusal::Knot(cycle) => {
            cycle.rules.iter().for_each(|rule| line(format!("rule {rule}")));
            cycle.settings.iter().for_each(|path| line(format!("alters {path}")));
            if cycle.bounded {
                line("search limit reached; a safe order may still exist".to_owned());
            }
        }
        _ => {}
    }
    let exit = match refusal {
        PlanRefusal::NoEntry(_)
        | PlanRefusal::NothingIn(_)
        | PlanRefusal::CannotSet { .. }
        | PlanRefusal::Length { .. }
        | PlanRefusal::TwoDefinitions { .. } => Exit::Usage,
        PlanRefusal::Nothing => Exit::No,
        _ => Exit::Refused,
    };
    let hint = match refusal {
        PlanRefusal::Knot(cycle) => Some(untying(cycle)),
        refusal => refusal.hint(),
    };
    Failure { exit, message, hint }
}

/// What could be allowed so that a knot is untied, as it is said on the command line.
fn untying(cycle: &RuleCycle) -> String {
    let ways = cycle.allow.iter().map(|way| match way {
        Allowance::AlterForATime { setting } => format!("{way} (`--allow-for-a-time {setting}`)"),
        Allowance::RestrictedByItself => way.to_string(),
    });
    let ways: Vec<String> = ways.collect();
    if ways.is_empty() {
        "nothing that could be allowed would untie it: wish for other values, or leave one of these settings as it is"
            .to_owned()
    } else {
        ways.join(", or ")
    }
}

/// A plan, whether or not what it needs was acknowledged.
///
/// # Errors
/// Why there is none.
pub fn planned(history: &History, definitions: &DefinitionSet, targets: &Targets<'_>) -> Result<Plan, Failure> {
    plan(history, definitions, targets).map_err(|error| refusal(&error))
}

/// Holds the acknowledgements against the restricted steps of a plan that is to be carried out.
///
/// # Errors
/// What nobody has acknowledged.
pub fn acknowledged<'p>(plan: &'p Plan, acknowledgements: &[Acknowledgement]) -> Result<Clearance<'p>, Failure> {
    acknowledge(plan, acknowledgements).map_err(|missing| {
        let cautions: Vec<String> = plan.steps.iter().flat_map(|step| step.cautions.clone()).collect();
        let mut message = missing.to_string();
        for caution in cautions {
            message.push_str(&format!("\n  {caution}"));
        }
        Failure::refused(message).hint(format!(
            "this is for a qualified technician; local law and the maker's procedure come first. \
             If you are one: {}",
            acknowledgement_options(&missing.0)
        ))
    })
}

/// That a plan has something to do; where everything is blocked, why.
///
/// # Errors
/// When it has no step.
pub fn has_steps(plan: &Plan) -> Result<(), Failure> {
    if !plan.steps.is_empty() {
        return Ok(());
    }
    if plan.blocked.is_empty() {
        return Err(refusal(&PlanRefusal::Nothing));
    }
    let mut message = "none of these changes can be made".to_owned();
    plan.blocked.iter().for_each(|blocked| message.push_str(&format!("\n  {}: {}", blocked.field, blocked.why)));
    Err(Failure::refused(message))
}
