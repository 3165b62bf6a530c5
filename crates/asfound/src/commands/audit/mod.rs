//! `asfound audit`

mod file;
mod subject;
mod teller;
mod unsealed;

use std::num::NonZero;
use std::path::{Path, PathBuf};

use asfound_core::names::Tag;
use asfound_journal::audit::{Audit, AuditOptions, FindingLevel, SealVerdict, audit};
use asfound_journal::seal::{Extension, KeptSeal};
use asfound_journal::store::Store;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use self::subject::Subject;
use self::teller::AuditProgress;
use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::new_file::write_new;
use crate::screens::audited::{AuditScreen, SealComparisonScreen};
use crate::setup::Session;

/// Verify every entry of one journal, or of all: that nothing was altered, removed or put in between.
///
/// With a seal that somebody kept, also that nothing was rewritten since. Given a file that `disclose` or `--out` wrote, check
/// that file instead, without any garage.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound audit
  asfound audit wren
  asfound audit wren --seal 0003A-9C1TN-…
  asfound audit wren --seal SEAL --out only-added-to.toml
  asfound audit only-added-to.toml --seal SEAL --until LATER-SEAL
  asfound audit disclosed.toml --seal SEAL

Exit codes: 0 sound, doubts and remarks included; 1 something was tampered with, a seal does not hold,
or entries stand between sealed ones without being sealed; 4 something cannot be read.
What an audit can prove and what it cannot is in docs/proof.md.")]
pub struct Args {
    /// A vehicle's tag, or a file to check; without it, every journal of the garage
    #[arg(value_name = "TAG|FILE", add = ArgValueCompleter::new(tags))]
    pub subject: Option<Subject>,

    /// A seal that was kept, in any of its forms; of a journal several may be given
    #[arg(long = "seal", value_name = "SEAL", requires = "subject")]
    pub seals: Vec<KeptSeal>,

    /// Write a proof, for whoever kept the seal, that the journal was only added to since, into a new file
    #[arg(long, value_name = "FILE", requires = "seals", conflicts_with = "until")]
    pub out: Option<PathBuf>,

    /// Of a file with such a proof: the later seal, where it was kept too
    #[arg(long, value_name = "SEAL", requires = "subject")]
    pub until: Option<KeptSeal>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match &args.subject {
        Some(Subject::File(path)) if args.out.is_some() => {
            Err(Failure::usage(format!("a proof is written of a journal, and {} is a file", path.display())))
        }
        Some(Subject::File(path)) => file::check(path, &args.seals, args.until.as_ref(), session),
        Some(Subject::Journal(_)) if args.until.is_some() => {
            Err(Failure::usage("--until is for a file; a journal takes --seal several times"))
        }
        Some(Subject::Journal(tag)) => journals(Some(tag), args, session),
        None => journals(None, args, session),
    }
}

fn journals(one: Option<&Tag>, args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    if args.out.is_some() && args.seals.len() > 1 {
        return Err(Failure::usage("a proof is made for one seal").hint("give --seal once"));
    }
    let garage = session.garage()?;
    let store = garage.store();
    let tags = match one {
        Some(tag) => vec![tag.clone()],
        None => store.tags()?,
    };
    let threads = std::thread::available_parallelism().unwrap_or(NonZero::<usize>::MIN);
    let means = AuditOptions { allowed: &garage.allowed_signers()?, threads };
    // Either tells that somebody watches: standard error shows colour, or somebody can be asked.
    let watched = session.environment.colour_of_errors || session.environment.interactive;
    let mut teller = AuditProgress::new(watched.then_some(&mut *session.err));
    let mut audits = Vec::new();
    for tag in tags {
        let outcome = audit(store, &tag, means, &mut |progress| teller.tell(&tag, progress));
        let is_file = Path::new(tag.as_str()).is_file();
        audits.push(outcome.map_err(|error| {
            Failure::from(error).maybe_hint(is_file.then(|| format!("the file of that name is `./{tag}`")))
        })?);
    }
    teller.wipe();
    let against = match audits.as_slice() {
        [audit] if !args.seals.is_empty() => Some(held_against(audit, args, session)?),
        _ => None,
    };
    let exit = exit_for(&audits, against.as_ref());
    session.show(&AuditScreen { garage: garage.path().to_owned(), one: one.is_some(), audits, against })?;
    Ok(exit)
}

/// Holds a journal against the seals, and writes the proof where it stands.
fn held_against(audit: &Audit, args: &Args, session: &Session<'_>) -> Result<SealComparisonScreen, Failure> {
    let mut outcome = audit.against(&args.seals);
    let owners = unsealed::owners(&mut outcome, &audit.tag, session)?;
    // A proof that a journal was only added to is one of a seal whose entries have the places in which they were sealed.
    let stands = outcome.seals.iter().all(|(_, verdict)| matches!(verdict, SealVerdict::Holds { .. }));
    let (unsealed, judged) = unsealed::entries(&outcome.unsealed, &audit.tag, session)?;
    let mut held = SealComparisonScreen { outcome, owners, unsealed, judged, proof: None };
    if let (Some(path), [kept], true) = (&args.out, args.seals.as_slice(), stands) {
        held.proof = Some(write_proof(audit, kept, path)?);
    }
    Ok(held)
}

fn write_proof(audit: &Audit, kept: &KeptSeal, path: &Path) -> Result<(PathBuf, Extension), Failure> {
    let proof = Extension::prove(&audit.leaves, kept.entries())
        .ok_or_else(|| Failure::damaged("the journal has fewer entries than the seal"))?;
    write_new(path, &proof.to_text())?;
    Ok((path.to_owned(), proof))
}

/// What was tampered with is a certain answer, whatever else cannot be read.
fn exit_for(audits: &[Audit], against: Option<&SealComparisonScreen>) -> Exit {
    let refuted = against.is_some_and(SealComparisonScreen::refuted);
    match audits.iter().filter_map(Audit::worst).max() {
        Some(FindingLevel::Tampering) => Exit::No,
        _ if refuted => Exit::No,
        Some(FindingLevel::Unreadable) => Exit::Damaged,
        _ => Exit::Done,
    }
}
