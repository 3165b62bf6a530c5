//! `asfound handover`

use std::ops::RangeInclusive;
use std::path::PathBuf;

use asfound_core::entry::OrderNumber;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::trial::TrialBuilder;
use asfound_core::work_order::{WorkOrder, WorkOrders};
use asfound_journal::journal::FiledEntry;
use asfound_journal::seal::Seal;
use asfound_journal::sign::{Meaning, SignatureState};
use asfound_report::sheet::{
    MomentsBuilder, SealShown, SharedTexts, SheetBuilder, SheetRequest, SheetSubject, SignatureShown, SignatureWorth,
};
use asfound_report::{Language, Paper, handover, text_for};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::printing::{PrintFormat, language, letterhead, seal_shown, write};
use crate::screens::handover::HandoverScreen;
use crate::setup::{DefinedJournal, JournalHandle, Session, TracedJournal};

/// Print the sheet that is handed over: what was found, what was done, what is as it was, and how that is proven.
///
/// It speaks of what lies between the last reading as found and the last reading as left. Whose sheet it is stands in
/// garage.toml under [workshop]; the customer's name is given here and goes into no journal.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound handover wren --customer \"R. Quill\" --out wren.pdf
  asfound handover wren --out wren.html --language de
  asfound handover wren --order 2026-0412 --customer \"R. Quill\" --out wren.pdf
  asfound handover wren --short --out wren.pdf
  asfound handover wren --from 2 --to 9 --out wren.txt
  asfound handover wren               to read it here")]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// For whom it is printed
    #[arg(long, value_name = "NAME")]
    pub customer: Option<String>,

    /// The new file, by its ending a page (.html), for print (.pdf) or text (.txt)
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,

    /// The work order; without it, the last one, unless a later reading as found begins something new
    #[arg(long, value_name = "NUMBER", conflicts_with_all = ["from", "to"])]
    pub order: Option<OrderNumber>,

    /// The first moment; without it and without an order, the last reading as found
    #[arg(long, value_name = "N")]
    pub from: Option<EntryNumber>,

    /// The second moment; without it and without an order, the last reading as left
    #[arg(long, value_name = "N")]
    pub to: Option<EntryNumber>,

    /// The language, `en` or `de`; without it, the garage's, else that of the surroundings
    #[arg(long, value_name = "LANGUAGE")]
    pub language: Option<Language>,

    /// Print the first page alone: what was altered, was it agreed to, what was not done, what was not read
    #[arg(long)]
    pub short: bool,

    /// The paper of a PDF, `a4` or `letter`
    #[arg(long, value_name = "PAPER", default_value = "a4", value_parser = |text: &str| text.parse::<Paper>())]
    pub paper: Paper,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let format = args.out.as_deref().map(PrintFormat::of).transpose()?;
    let journal = DefinedJournal::open(session, &args.tag)?;
    let language = language(args.language, &journal.garage, session)?;
    let (workshop, logo) = letterhead(&journal.garage)?;
    let (mut outline, mut trials, mut orders) =
        (MomentsBuilder::default(), TrialBuilder::default(), WorkOrders::default());
    for filed in journal.journal().each(&journal.index) {
        let entry = filed?.entry;
        outline.push(&entry);
        trials.push(&entry);
        orders.push(&entry);
    }
    let subject = subject_of(args, orders.finish(), &outline)?;
    let (from, to) = subject
        .moments(&outline)
        .map_err(|error| Failure::usage(error).hint("name the two moments with `--from N --to N`"))?;
    let (signatures, seal) = attested(&journal, from..=to)?;
    let known = TracedJournal::of(journal)?;
    let mut drawing = SheetBuilder::begin(SheetRequest {
        outline: &outline,
        trials,
        definitions: &known.definitions,
        history: &known.history,
        subject,
        customer: args.customer.clone(),
        workshop,
        signatures,
        seal,
        printed: session.environment.now,
    })
    .map_err(Failure::usage)?;
    for filed in known.journal().each(&known.index) {
        drawing.push(&filed?.entry).map_err(Failure::usage)?;
    }
    let sheet = drawing.finish().map_err(Failure::usage)?;
    let mut printed = handover(&sheet, language, logo).map_err(Failure::usage)?;
    if args.short {
        printed = printed.first_page();
    }
    let written = match (&args.out, format) {
        (Some(file), Some(format)) => Some((file.clone(), write(file, format, &printed, args.paper)?)),
        _ if session.json => None,
        _ => {
            let width = session.environment.width;
            session.write_in_pieces(&mut |reader| text_for(&printed, width, reader))?;
            return Ok(Exit::Done);
        }
    };
    drop(printed);
    HandoverScreen { sheet, written }.show(session)?;
    Ok(Exit::Done)
}

/// What the sheet is about: an order, or what lies between two moments.
fn subject_of(args: &Args, mut all: Vec<WorkOrder>, outline: &MomentsBuilder) -> Result<SheetSubject, Failure> {
    if let Some(number) = &args.order {
        let known: Vec<String> = all.iter().map(|order| order.number.to_string()).collect();
        let found = all.into_iter().find(|order| order.number == *number);
        return found.map(SheetSubject::Order).ok_or_else(|| {
            let failure = Failure::usage(format!("the journal of `{}` has no order {number}", args.tag));
            failure.maybe_hint((!known.is_empty()).then(|| format!("it has {}", known.join(", "))))
        });
    }
    let begun = outline.last_as_found();
    let is_last = |order: &mut WorkOrder| order.closed.is_none_or(|closed| begun.is_none_or(|begun| begun < closed));
    if args.from.is_none()
        && args.to.is_none()
        && let Some(order) = all.pop_if(is_last)
    {
        return Ok(SheetSubject::Order(order));
    }
    Ok(SheetSubject::Between { from: args.from, to: args.to, orders: all })
}

/// What the signatures of the entries between two moments are worth, and the seal over all entries.
///
/// That reads much of the journal; what git keeps of it is let go before the history takes its room.
fn attested(
    listed: &JournalHandle,
    between: RangeInclusive<EntryNumber>,
) -> Result<(Vec<SignatureShown>, SealShown), Failure> {
    let journal = listed.journal();
    let allowed = listed.garage.allowed_signers()?;
    let (mut texts, mut signatures) = (SharedTexts::default(), Vec::new());
    for filed in journal.each(&listed.index) {
        let filed = filed?;
        if !between.contains(&filed.entry.number) {
            continue;
        }
        let state = journal.signature(&filed, &allowed)?;
        let by_author = state.is_by(&filed.entry.author);
        let (standing, key, signer) = match state {
            SignatureState::Good { fingerprint, .. } if by_author => (SignatureWorth::Good, Some(fingerprint), None),
            SignatureState::Good { fingerprint, principal } => {
                (SignatureWorth::ForAnother, Some(fingerprint), Some(principal))
            }
            SignatureState::Unknown { fingerprint, .. } => (SignatureWorth::Unknown, Some(fingerprint), None),
            SignatureState::Bad { .. } => (SignatureWorth::Bad, None, None),
            SignatureState::Missing => (SignatureWorth::Unsigned, None, None),
        };
        signatures.push(SignatureShown {
            entry: filed.entry.number,
            at: filed.entry.recorded,
            name: texts.of(filed.entry.author.name()),
            meaning: meaning(&filed),
            standing,
            signer: signer.map(|signer| texts.of(&signer)),
            key: key.map(|key| texts.of(&key.to_string())),
        });
    }
    // Whoever the entries were read from: the seal is over what the journal itself has, and refuses any other.
    let seal = seal_shown(&Seal::over(&journal.leaves(&listed.index, None)?));
    listed.garage.store().let_go();
    Ok((signatures, seal))
}

fn meaning(filed: &FiledEntry) -> &'static str {
    let meaning = filed.signed.as_ref().map_or_else(|| Meaning::of(&filed.entry.body), |signed| signed.meaning);
    match meaning {
        Meaning::Made => "made",
        Meaning::Read => "read",
        Meaning::Stated => "stated",
        Meaning::Released => "released",
    }
}
