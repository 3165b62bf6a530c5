//! `asfound order`

mod close;
mod extension;
mod put_right;
mod terms;
mod withdraw;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{AuthorisedItem, Body, OrderNumber, PlainReason};
use asfound_core::history::{History, HistoryError};
use asfound_core::names::{ModuleName, Tag};
use asfound_core::work_order::{OrderOutcome, OutcomeBuilder, WorkOrder};
use asfound_journal::journal::{EntryIndex, Journal, JournalError};
use asfound_journal::store::GitStore;
use clap::{Args as ClapArgs, Subcommand};
use clap_complete::ArgValueCompleter;

use self::terms::{Term, doubts_of, terms_of};
use crate::arguments::{Assignment, settings_of_vehicle, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::{Filing, file};
use crate::screens::order::{OrderFiled, OrderShown, OrdersShown};
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
    /// Put right a term of the open order that was written down wrongly
    ///
    /// The term as it was written stays legible. Where the work was done already, the sheet says that the term was put right
    /// afterwards.
    #[command(after_help = "Example:
  asfound order put-right wren body.lock_at_sped --meant body.lock_at_speed=on --consent \"owner, by phone, 14 March 10:50\"")]
    PutRight {
        /// The vehicle
        #[arg(add = ArgValueCompleter::new(tags))]
        tag: Tag,
        /// The term as it stands: SETTING, MODULE:RECORD or MODULE
        term: Term,
        /// What was meant: a setting and its value, or MODULE:RECORD=BYTES
        #[arg(long, value_name = "SETTING=VALUE", add = ArgValueCompleter::new(settings_of_vehicle))]
        meant: Assignment,
        /// Who confirmed it, how and when
        #[arg(long, value_name = "TEXT")]
        consent: String,
    },
    /// Take terms out of the open order that the customer no longer agrees to
    ///
    /// Work that was done before it had their consent; the sheet says that it was withdrawn afterwards.
    #[command(after_help = "Example:
  asfound order withdraw wren body.horn_tone --consent \"owner, by phone, 14 March 11:30\"")]
    Withdraw {
        /// The vehicle
        #[arg(add = ArgValueCompleter::new(tags))]
        tag: Tag,
        /// The terms: SETTING, MODULE:RECORD or MODULE
        #[arg(required = true)]
        terms: Vec<Term>,
        /// Who took them back, how and when
        #[arg(long, value_name = "TEXT")]
        consent: String,
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
        Action::PutRight { tag, term, meant, consent } => put_right::run(tag, term, meant, consent, session),
        Action::Withdraw { tag, terms, consent } => withdraw::run(tag, terms, consent, session),
        Action::Show { tag, all: true, .. } => list(tag, session),
        Action::Show { tag, number, .. } => show(tag, number.as_ref(), session),
        Action::Close { tag, why, released } => close::run(tag, why.as_deref(), *released, session),
    }
}

fn open(tag: &Tag, number: &OrderNumber, args: &TermsArgs, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = TracedJournal::open(session, tag)?;
    let terms = terms_of(&known, number.clone(), args)?;
    let why = reason(args.why.as_deref(), &PlainReason::OrderOpened(number.clone()).to_string())?;
    let filing = Filing::new(session, &known.garage, why)?;
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
        Ok(Body::OrderOpened(terms.clone()))
    })?;
    let doubts = doubts_of(&known, &terms.authorised);
    session.show(&OrderFiled::new(tag, &filed, doubts))?;
    Ok(Exit::Done)
}

fn extend(tag: &Tag, args: &TermsArgs, session: &mut Session<'_>) -> Result<Exit, Failure> {
    if args.authorise.is_empty() && args.units.is_empty() && args.estimate.is_none() {
        return Err(Failure::usage("nothing is added").hint("name it with `--authorise SETTING=VALUE`"));
    }
    let why = args.why.as_deref();
    extension::run(tag, why, session, |known, order| terms_of(known, order.number.clone(), args))
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
        let open = order.closed.is_none().then(|| order.terms_in_force());
        let items: Vec<AuthorisedItem> =
            open.iter().flatten().filter_map(|term| Some(term.authorised()?.item.clone())).collect();
        let doubts = doubts_of(&known, &items);
        session.show(&OrderShown { tag: tag.clone(), order, outcome, doubts })?;
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
