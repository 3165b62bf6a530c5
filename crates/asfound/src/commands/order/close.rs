//! `asfound order close`

use asfound_core::entry::{Body, PlainReason};
use asfound_core::history::Field;
use asfound_core::names::Tag;
use asfound_core::work_order::{LineGroup, OrderOutcome, OrderVerdict, OutcomeSubject, WorkOrder};
use asfound_journal::sign::Meaning;

use super::{reckoned, the_open};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{Filing, file};
use crate::screens::order::OrderShown;
use crate::screens::shared::quoted;
use crate::setup::{Session, TracedJournal, orders_of, reason};

/// Closes the open order.
pub(super) fn run(tag: &Tag, why: Option<&str>, released: bool, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, tag)?;
    let number = the_open(tag, orders_of(&known.journal(), &known.index)?)?.number;
    let mut filing = Filing::new(session, &known.garage, reason(why, &PlainReason::OrderClosed(number).to_string())?)?;
    if released {
        filing = filing.meaning(Meaning::Released)?;
    }
    let filed = file(&known, &filing, |before| {
        let journal = known.journal();
        let order = the_open(tag, orders_of(&journal, &before.index)?)?;
        let number = order.number.clone();
        for (order, outcome) in reckoned(vec![order], &journal, &before.index, &before.history, &known.definitions)? {
            if outcome.blocks() {
                return Err(blocked(tag, &order, &outcome));
            }
        }
        Ok(Body::OrderClosed(number))
    })?;
    let journal = known.journal();
    let index = journal.index()?;
    let closed = |order: &WorkOrder| order.closed == Some(filed.entry.number);
    let orders = orders_of(&journal, &index)?.into_iter().filter(closed).collect();
    for (order, outcome) in reckoned(orders, &journal, &index, &filed.history, &known.definitions)? {
        session.show(&OrderShown { tag: tag.clone(), order, outcome, doubts: Vec::new() })?;
    }
    Ok(Exit::Done)
}

/// Why an order cannot be closed, and the two ways on.
fn blocked(tag: &Tag, order: &WorkOrder, outcome: &OrderOutcome) -> Failure {
    let mut message = format!("order {} cannot be closed: something was done without authority", order.number);
    let (mut entries, mut wanted) = (Vec::new(), Vec::new());
    for line in outcome.of(LineGroup::WithoutAuthority) {
        let OrderVerdict::WithoutAuthority { entry, .. } = line.verdict else { continue };
        let shown = |text: &Option<String>| text.clone().unwrap_or_else(|| "?".to_owned());
        message.push_str(&format!("\n  {}: {} -> {}, entry {entry}", line.what, shown(&line.found), shown(&line.left)));
        if !entries.contains(&entry) {
            entries.push(entry);
        }
        if let (OutcomeSubject::Field(Field::Setting(path)), Some(left)) = (&line.what, &line.left) {
            wanted.push(format!("--authorise {path}={}", quoted(left)));
        }
    }
    let entries: Vec<String> = entries.iter().map(ToString::to_string).collect();
    let authorise = if wanted.is_empty() { "--authorise MODULE:RECORD=BYTES".to_owned() } else { wanted.join(" ") };
    Failure::refused(message).hint(format!(
        "record the consent: asfound order extend {tag} {authorise} --consent TEXT; or put it back: asfound put-back {tag} {}",
        entries.join(" ")
    ))
}
