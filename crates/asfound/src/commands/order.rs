//! `asfound order`

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{AuthorisedItem, Body, OrderNumber, OrderTerms, PlainReason, Reason};
use asfound_core::history::{Field, History, HistoryError};
use asfound_core::names::{ModuleName, Tag};
use asfound_core::work_order::{LineGroup, OrderOutcome, OrderVerdict, OutcomeBuilder, OutcomeSubject, WorkOrder};
use asfound_journal::journal::{EntryIndex, Journal, JournalError};
use asfound_journal::sign::Meaning;
use asfound_journal::store::GitStore;
use clap::{Args as ClapArgs, Subcommand};
use clap_complete::ArgValueCompleter;

use crate::arguments::{Assignment, AssignmentPlace, settings_of_vehicle, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{Filing, file};
use crate::parse_targets::value_of;
use crate::screens::order::{OrderFiled, OrderShown, OrdersShown};
use crate::screens::shared::quoted;
use crate::setup::{Session, TracedJournal, orders_of, reason};

/// Work orders: what the customer agreed to, held against what was done.
///
/// Entries that are filed while an order is open belong to it. One order is open at a time.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound order open wren 2026-0412 --authorise body.lane_change_flashes=5 --consent \"owner, at the desk, 14 March\"
  asfound order show wren
  asfound order close wren")]
pub struct Args {
    /// What to do
    #[command(subcommand)]
    pub action: Action,
}

/// What to do with orders.
#[derive(Debug, Subcommand)]
pub enum Action {
    /// Open an order with what the customer agreed to
    ///
    /// Leave out names and plates where they need not be in the journal: it keeps what it is told.
    #[command(after_help = "Examples:
  asfound order open wren 2026-0412 --authorise body.lane_change_flashes=5 --authorise body.lock_at_speed=on \\
      --consent \"owner, signed order form, 14 March\" --estimate \"60.00 EUR\"
  asfound order open wren 2026-0413 --authorise-unit cluster --consent \"owner, by phone, 15 March 10:20\"
  asfound order open wren 2026-0414 --consent \"examination only; owner, by phone\"")]
    Open {
        /// The vehicle
        #[arg(add = ArgValueCompleter::new(tags))]
        tag: Tag,
        /// The order's number, as the workshop has it
        number: OrderNumber,
        /// What it is about
        #[command(flatten)]
        terms: TermsArgs,
    },
    /// Add work to the open order, with a further consent
    #[command(after_help = "Example:
  asfound order extend wren --authorise body.horn_tone=high --consent \"owner, by phone, 14 March 11:05\"")]
    Extend {
        /// The vehicle
        #[arg(add = ArgValueCompleter::new(tags))]
        tag: Tag,
        /// What is added
        #[command(flatten)]
        terms: TermsArgs,
    },
    /// Show an order: what was authorised against what was done; without a number, the open one or the last
    #[command(
        after_help = "Examples:\n  asfound order show wren\n  asfound order show wren 2026-0412\n  asfound order show wren --all"
    )]
    Show {
        /// The vehicle
        #[arg(add = ArgValueCompleter::new(tags))]
        tag: Tag,
        /// The order's number
        number: Option<OrderNumber>,
        /// List all orders of the vehicle
        #[arg(long, conflicts_with = "number")]
        all: bool,
    },
    /// Close the open order, unless something was done without authority
    #[command(after_help = "Examples:\n  asfound order close wren\n  asfound order close wren --released\n\n\
                      Work that nobody authorised blocks it, down to bits that no definition names: record the consent \
                      with\n`asfound order extend`, or put the work back. Exit code 3 then, and nothing is filed.")]
    Close {
        /// The vehicle
        #[arg(add = ArgValueCompleter::new(tags))]
        tag: Tag,
        /// What there is to say about it
        #[arg(long, value_name = "TEXT")]
        why: Option<String>,
        /// Sign it as "released": checked, and let go
        #[arg(long)]
        released: bool,
    },
}

/// What the customer agrees to.
#[derive(Debug, ClapArgs)]
pub struct TermsArgs {
    /// A setting and its value, or MODULE:RECORD=BYTES; may be given several times
    #[arg(long = "authorise", value_name = "SETTING=VALUE", add = ArgValueCompleter::new(settings_of_vehicle))]
    pub authorise: Vec<Assignment>,

    /// That this module is replaced, or gets other software
    #[arg(long = "authorise-unit", value_name = "MODULE")]
    pub units: Vec<ModuleName>,

    /// Who agreed, how and when
    #[arg(long, value_name = "TEXT")]
    pub consent: String,

    /// What it may cost, as was agreed before the work, as in "120.00 EUR"
    #[arg(long, value_name = "TEXT")]
    pub estimate: Option<String>,

    /// What the order is for
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Open { tag, number, terms } => open(tag, number, terms, session),
        Action::Extend { tag, terms } => extend(tag, terms, session),
        Action::Show { tag, all: true, .. } => list(tag, session),
        Action::Show { tag, number, .. } => show(tag, number.as_ref(), session),
        Action::Close { tag, why, released } => close(tag, why.as_deref(), *released, session),
    }
}

fn open(tag: &Tag, number: &OrderNumber, terms: &TermsArgs, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, tag)?;
    let consent = consent_of(terms)?;
    let authorised = authorised_of(&known, terms)?;
    let estimate = estimate_of(terms)?;
    let terms_filed = OrderTerms { number: number.clone(), consent, estimate, authorised };
    let filing = Filing::new(
        session,
        &known.garage,
        reason(terms.why.as_deref(), &PlainReason::OrderOpened(number.clone()).to_string())?,
    )?;
    let filed = file(&known, &filing, |before| {
        let all = orders_of(&known.journal(), &before.index)?;
        if let Some(open) = all.last().filter(|order| order.closed.is_none()) {
            return Err(Failure::refused(format!("order {} is open since entry {}", open.number, open.opened))
                .hint(format!("close it first: asfound order close {tag}")));
        }
        if let Some(earlier) = all.iter().find(|order| order.number == *number) {
            let number = &earlier.number;
            return Err(Failure::refused(format!("entry {} has opened an order {number} already", earlier.opened))
                .hint("give this one a number of its own"));
        }
        Ok(Body::OrderOpened(terms_filed.clone()))
    })?;
    session.show(&OrderFiled::new(tag, &filed))?;
    Ok(Exit::Done)
}

fn extend(tag: &Tag, terms: &TermsArgs, session: &mut Session<'_>) -> Result<Exit, Failure> {
    if terms.authorise.is_empty() && terms.units.is_empty() && terms.estimate.is_none() {
        return Err(Failure::usage("nothing is added").hint("name it with `--authorise SETTING=VALUE`"));
    }
    let known = TracedJournal::open(session, tag)?;
    let consent = consent_of(terms)?;
    let (estimate, authorised) = (estimate_of(terms)?, authorised_of(&known, terms)?);
    let number = the_open(tag, orders_of(&known.journal(), &known.index)?)?.number;
    let filing = Filing::new(
        session,
        &known.garage,
        reason(terms.why.as_deref(), &PlainReason::OrderExtended(number).to_string())?,
    )?;
    let filed = file(&known, &filing, |before| {
        let number = the_open(tag, orders_of(&known.journal(), &before.index)?)?.number;
        let (consent, estimate, authorised) = (consent.clone(), estimate.clone(), authorised.clone());
        Ok(Body::OrderExtended(OrderTerms { number, consent, estimate, authorised }))
    })?;
    session.show(&OrderFiled::new(tag, &filed))?;
    Ok(Exit::Done)
}

fn list(tag: &Tag, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, tag)?;
    let orders = orders_of(&known.journal(), &known.index)?;
    let lines = reckoned(orders, &known.journal(), &known.index, &known.history, &known.definitions)?;
    session.show(&OrdersShown { tag: tag.clone(), lines })?;
    Ok(Exit::Done)
}

fn show(tag: &Tag, number: Option<&OrderNumber>, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, tag)?;
    let all = orders_of(&known.journal(), &known.index)?;
    let order = match number {
        Some(number) => all.into_iter().find(|order| order.number == *number).ok_or_else(|| {
            Failure::usage(format!("`{tag}` has no order {number}")).hint(format!("asfound order show {tag} --all"))
        })?,
        None => all.into_iter().next_back().ok_or_else(|| none_yet(tag))?,
    };
    for (order, outcome) in reckoned(vec![order], &known.journal(), &known.index, &known.history, &known.definitions)? {
        session.show(&OrderShown { tag: tag.clone(), order, outcome })?;
    }
    Ok(Exit::Done)
}

fn close(tag: &Tag, why: Option<&str>, released: bool, session: &mut Session<'_>) -> Result<Exit, Failure> {
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
        session.show(&OrderShown { tag: tag.clone(), order, outcome })?;
    }
    Ok(Exit::Done)
}

fn the_open(tag: &Tag, mut orders: Vec<WorkOrder>) -> Result<WorkOrder, Failure> {
    orders.pop().filter(|order| order.closed.is_none()).ok_or_else(|| {
        Failure::usage(format!("no order is open for `{tag}`"))
            .hint(format!("asfound order open {tag} NUMBER --authorise SETTING=VALUE --consent TEXT"))
    })
}

fn none_yet(tag: &Tag) -> Failure {
    Failure::usage(format!("`{tag}` has had no order yet"))
        .hint(format!("asfound order open {tag} NUMBER --authorise SETTING=VALUE --consent TEXT"))
}

/// Orders with what they come to, in the order of their opening.
fn reckoned(
    orders: Vec<WorkOrder>,
    journal: &Journal<'_, GitStore>,
    index: &EntryIndex,
    history: &History,
    definitions: &DefinitionSet,
) -> Result<Vec<(WorkOrder, OrderOutcome)>, Failure> {
    let mut outcomes = OutcomeBuilder::of(orders);
    for filed in journal.each(index) {
        outcomes.push(&filed?.entry).map_err(HistoryError::from).map_err(JournalError::from)?;
    }
    Ok(outcomes.finish(history, definitions))
}

fn consent_of(terms: &TermsArgs) -> Result<Reason, Failure> {
    Reason::try_from(terms.consent.clone()).map_err(|_| {
        let blank = terms.consent.trim().is_empty();
        Failure::usage(if blank {
            "an order needs the customer's consent: who agreed, how and when"
        } else {
            "the consent holds control characters, which no entry can keep"
        })
    })
}

fn estimate_of(terms: &TermsArgs) -> Result<Option<Reason>, Failure> {
    let estimate = terms.estimate.clone().map(Reason::try_from).transpose();
    estimate.map_err(|_| Failure::usage("the estimate is blank, or holds control characters, which no entry can keep"))
}

fn authorised_of(known: &TracedJournal, terms: &TermsArgs) -> Result<Vec<AuthorisedItem>, Failure> {
    let mut authorised: Vec<AuthorisedItem> = Vec::new();
    for Assignment { place, text } in &terms.authorise {
        authorised.push(match place {
            AssignmentPlace::Setting(path) => {
                let value = value_of(&known.history, &known.definitions, path, text, true)?;
                AuthorisedItem::Setting { setting: path.clone(), left: value.to_string() }
            }
            AssignmentPlace::Record(module, record) => {
                let left = text.parse().map_err(|error| Failure::usage(format!("{place}: {error}")))?;
                AuthorisedItem::Record { module: module.clone(), record: record.clone(), left }
            }
        });
    }
    authorised.extend(terms.units.iter().map(|module| AuthorisedItem::Unit { module: module.clone() }));
    for (at, item) in authorised.iter().enumerate() {
        if authorised[..at].iter().any(|earlier| earlier.same_place(item)) {
            return Err(Failure::usage(format!("`{item}` and an earlier authority are about the same thing")));
        }
    }
    Ok(authorised)
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
