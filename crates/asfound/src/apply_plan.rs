//! From targets to a filed change or put-back: one way for every command that alters something.

use asfound_core::entry::{Acknowledgement, Body, Moment, WorkBody};
use asfound_core::history::{Field, History};
use asfound_core::plan::{Plan, SheetCode, Targets};
use asfound_journal::journal::Snapshot;

use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{FileTarget, Filing, file};
use crate::followed_sheet::same_sheet;
use crate::planning::{acknowledged, has_steps, planned};
use crate::screens::shared::timing_text;
use crate::screens::work_filed::WorkFiled;
use crate::setup::{DefinedJournal, Session, TracedJournal};

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
