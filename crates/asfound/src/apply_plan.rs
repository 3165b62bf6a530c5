//! From targets to a filed change or put-back: one way for every command that alters something.

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Acknowledgement, Body, Moment, WorkBody};
use asfound_core::history::{Field, History};
use asfound_core::plan::{Allowance, Clearance, Plan, PlanRefusal, RuleCycle, SheetCode, Targets, acknowledge, plan};
use asfound_core::safety::SafetyTag;

use asfound_journal::journal::Snapshot;

use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{FileTarget, Filing, file};
use crate::followed_sheet::same_sheet;
use crate::screens::shared::timing_text;
use crate::screens::work_filed::WorkFiled;
use crate::setup::{DefinedJournal, Session, TracedJournal};

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
            asked_for(&missing.0)
        ))
    })
}

/// The options by which restricted systems are acknowledged.
pub fn asked_for(tags: &[SafetyTag]) -> String {
    let tags: Vec<String> = tags.iter().map(|tag| format!("--acknowledge {tag}")).collect();
    format!("{} --acknowledged-by NAME --grounds TEXT", tags.join(" "))
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

/// The same function that works targets out. Of one that is kept for later the compiler has to be told that its targets are
/// about the history that it is given.
pub fn targeting<F: for<'h> Fn(&DefinedJournal, &'h History) -> Result<Targets<'h>, Failure>>(targets: F) -> F {
    targets
}

/// What was so when work was done, where something later is known already; nothing where that is not so.
fn earlier(explained: &DefinedJournal, before: &Snapshot, moment: Moment) -> Result<Option<History>, Failure> {
    if !before.history.state().knows_anything_later(moment) {
        return Ok(None);
    }
    let until = moment.span().last();
    Ok(Some(explained.journal().trace_until(&before.index, before.definitions, until)?))
}

/// Which readings, of those that are known already, show something else than work left that was done before them.
fn contradicted(plan: &Plan, history: &History, moment: Moment) -> Vec<String> {
    let alterations = plan.alterations().into_iter();
    let shown = alterations.filter_map(|(path, _, left)| {
        let (reading, content) = history.shown_after(&Field::Setting(path.clone()), moment)?;
        let different = content.compare(left).is_different();
        different.then(|| format!("{path}: entry {reading}, a later reading, shows {content} and not {left}"))
    });
    shown.collect()
}

/// Plans against the journal as it is at the moment of filing, and files the work. Where it was done by a sheet, its steps
/// must be those of the plan.
///
/// # Errors
/// Why there is no plan, or why it cannot be filed; nothing is filed then.
pub fn carry_out(
    session: &mut Session<'_>,
    known: TracedJournal,
    filing: &Filing,
    (acknowledgements, sheet): (&[Acknowledgement], Option<SheetCode>),
    targets: impl for<'h> Fn(&DefinedJournal, &'h History) -> Result<Targets<'h>, Failure>,
    body: impl Fn(WorkBody) -> Body,
) -> Result<Exit, Failure> {
    let (mut carried, mut against) = (None, Vec::new());
    let (explained, history) = known.apart();
    for remark in history.state().timing(filing.moment(history.state()), session.environment.now) {
        session.say(&format!("remark: {}", timing_text(remark)));
    }
    let filed = file(FileTarget::giving_up(&explained, history), filing, |before| {
        let moment = filing.moment(before.history.state());
        let then = earlier(&explained, before, moment)?;
        let history = then.as_ref().unwrap_or(&before.history);
        let wanted = targets(&explained, history)?;
        let plan = planned(history, before.definitions, &wanted)?;
        if let Some(code) = sheet {
            same_sheet(&explained, before, code, &plan, &targets)?;
        }
        let clearance = acknowledged(&plan, acknowledgements)?;
        has_steps(&plan)?;
        let mut work = clearance.work();
        if then.is_some() {
            work = work.told_late(moment, before.history.state(), before.definitions);
            against = contradicted(&plan, &before.history, moment);
        }
        carried = Some(plan);
        Ok(body(work))
    })?;
    against.iter().for_each(|remark| session.say(&format!("remark: {remark}")));
    if let Some(plan) = carried {
        session.show(&WorkFiled::new(&explained.tag, &filed, plan))?;
    }
    Ok(Exit::Done)
}
