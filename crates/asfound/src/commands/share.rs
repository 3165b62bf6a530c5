//! `asfound share`

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZero;
use std::time::Duration;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::Author;
use asfound_core::names::Tag;
use asfound_journal::audit::AuditOptions;
use asfound_journal::garage::Garage;
use asfound_journal::journal::{FiledEntry, Journal, JournalError, Signing};
use asfound_journal::share::{Examined, JoinOutcome, ShareError, SharePlace, Sharing, examine, join, keep};
use asfound_journal::sign::AllowedSigners;
use asfound_journal::store::{CommitId, GitStore, Holder, Store, StoreError, TransferRepository};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::progress::Progress;
use crate::screens::share::{ShareScreen, SharedJournal};
use crate::setup::{Session, chance, garage_definitions};
use crate::sharing::{Address, GitProgram, ToSend};

/// How often everything is fetched anew when others share with the same place at the same time.
const ROUNDS: usize = 8;

/// Share journals with another place: take over what was filed there, and send what was filed here.
///
/// The place is a bare git repository, or another garage; git reaches it, with its own protocols and credentials. Shared journals
/// only ever grow. Where both have filed entries for one car, those of this garage are drawn up anew behind those of the
/// place, with new numbers; the line in which they stood is kept, so that seals stay good. Where an entry does not
/// follow from what the other has filed, that journal is not shared, and the entry is named.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound share /media/stick/cars.git --new
  asfound share ssh://workshop.example/srv/cars.git
  asfound share ../bench-two/garage wren

Exit codes: 0 everything is shared; 3 a journal was refused; 4 the place or a journal is out of reach.
What is sent, and what happens when two benches worked on one car, is in docs/sharing.md.")]
pub struct Args {
    /// The place: a URL, or the path of a bare repository or of another garage
    #[arg(value_name = "URL|PATH")]
    pub place: String,

    /// Only these vehicles
    #[arg(value_name = "TAG", add = ArgValueCompleter::new(tags))]
    pub tags: Vec<Tag>,

    /// Make a repository at the path, where there is nothing yet
    #[arg(long)]
    pub new: bool,

    /// Where entries of this vehicle cannot stand behind those of the place, take the place's and keep these beside the journal
    #[arg(long, value_name = "TAG")]
    pub set_aside: Vec<Tag>,

    /// Give up where the place says nothing for so long
    #[arg(long, value_name = "SECONDS", default_value_t = 600)]
    pub wait: u64,

    /// Take what the place has of this vehicle as if it was seen for the first time, though it had more before
    #[arg(long, value_name = "TAG")]
    pub anew: Vec<Tag>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let (garage, _) = session.garage_or_new()?;
    garage.check_own()?;
    let address = Address::parse(&args.place, args.new)?;
    let author = session.author(&garage)?;
    let signer = session.signer(&garage, &author)?;
    let signing = signer.as_deref().map(|signer| Signing { signer, meaning: None });
    let allowed = garage.allowed_signers()?;
    let definitions = garage_definitions(&garage)?;
    let run =
        ShareRun { args, garage: &garage, author: &author, signing, allowed: &allowed, definitions: &definitions };
    let shared = run.rounds(&address, session)?;
    let exit = shared.exit();
    session.show(&shared)?;
    Ok(exit)
}

/// For how long another exchange of the same garage is waited for.
const LONGEST_WAIT: Duration = Duration::from_secs(600);

/// What was fetched, and the vehicles that it is about this time.
#[derive(Clone, Copy)]
struct Round<'r> {
    place: &'r SharePlace,
    transfer: &'r TransferRepository<'r>,
    there: &'r BTreeMap<Tag, CommitId>,
    /// References that the place could not hand over, and what was said of each.
    bad: &'r BTreeMap<String, String>,
    wanted: &'r BTreeSet<Tag>,
}

struct ShareRun<'a> {
    args: &'a Args,
    garage: &'a Garage,
    author: &'a Author,
    signing: Option<Signing<'a>>,
    allowed: &'a AllowedSigners,
    definitions: &'a DefinitionSet,
}

impl ShareRun<'_> {
    /// Fetches, brings together and sends, and again where others did so in between.
    fn rounds(&self, address: &Address, session: &mut Session<'_>) -> Result<ShareScreen, Failure> {
        let store = self.garage.store();
        let place = SharePlace::at(&address.for_git);
        let transfer = self.transfer(session)?;
        let program =
            GitProgram::new(transfer.path(), session.environment.interactive, Duration::from_secs(self.args.wait));
        let mut outcomes: BTreeMap<Tag, SharedJournal> = BTreeMap::new();
        let mut wanted: Option<BTreeSet<Tag>> = None;
        for tag in &self.args.anew {
            place.forget(store, tag)?;
        }
        let mut left = ROUNDS;
        loop {
            let bad = program.fetch(address, &place.incoming())?;
            let there = place.journals(transfer.store())?;
            let wanted_now = match &wanted {
                Some(wanted) => wanted.clone(),
                None => self.chosen(&there, &bad)?,
            };
            let round = Round { place: &place, transfer: &transfer, there: &there, bad: &bad, wanted: &wanted_now };
            let joined = self.join_all(round, session)?;
            let rejected = self.send(&program, address, round, &joined)?;
            for (tag, result) in joined {
                outcomes.entry(tag).or_default().add(result);
            }
            left -= 1;
            if rejected.is_empty() || left == 0 {
                for (tag, why) in rejected {
                    outcomes.entry(tag).or_default().not_taken = Some(why);
                }
                break;
            }
            wanted = Some(rejected.into_keys().collect());
            transfer.name_what_is_here()?;
        }
        Ok(ShareScreen { place: address.shown.clone(), journals: outcomes })
    }

    /// The vehicles to share: those that were named, or all that there are here or there.
    fn chosen(
        &self,
        there: &BTreeMap<Tag, CommitId>,
        bad: &BTreeMap<String, String>,
    ) -> Result<BTreeSet<Tag>, Failure> {
        let named = &self.args.tags;
        if !named.is_empty() {
            return Ok(named.iter().cloned().collect());
        }
        let named = bad.keys().filter_map(|name| name.strip_prefix("refs/heads/")?.parse().ok());
        Ok(self.garage.store().tags()?.into_iter().chain(there.keys().cloned()).chain(named).collect())
    }

    /// A repository for this exchange. Another exchange of this garage is waited for, which is said.
    fn transfer(&self, session: &mut Session<'_>) -> Result<TransferRepository<'_>, Failure> {
        let store = self.garage.store();
        match store.transfer_repository(Duration::ZERO) {
            Err(StoreError::Busy { holder: holder @ (Holder::Process { .. } | Holder::Unknown), .. }) => {
                session.say(&format!("{holder} is sharing the journals of this garage; waiting for it"));
                Ok(store.transfer_repository(LONGEST_WAIT)?)
            }
            other => Ok(other?),
        }
    }

    /// Examines what was fetched, takes over what is in order, and brings it together with what is here.
    fn join_all(
        &self,
        round: Round<'_>,
        session: &mut Session<'_>,
    ) -> Result<BTreeMap<Tag, Result<JoinOutcome, ShareError>>, Failure> {
        let Round { place, transfer, there, bad, wanted } = round;
        let incoming = transfer.store();
        let offered = place.kept(incoming)?;
        let watched = session.environment.colour_of_errors || session.environment.interactive;
        let mut progress = Progress::start(watched);
        let definitions = |tag: &Tag, lines: &[&[FiledEntry]]| self.definitions_of(tag, lines);
        let blind = || chance().map(|chance| chance.blind).map_err(|failure| JournalError::Unfit(failure.message));
        let mut joined = BTreeMap::new();
        let now = session.environment.now;
        let sharing = |tag: &Tag| Sharing {
            store: self.garage.store(),
            incoming,
            place,
            means: AuditOptions {
                allowed: self.allowed,
                threads: std::thread::available_parallelism().unwrap_or(NonZero::<usize>::MIN),
            },
            signing: self.signing,
            by: self.author,
            now,
            blind: &blind,
            definitions: &definitions,
            set_aside: self.args.set_aside.contains(tag),
        };
        let mut examined: Vec<(&Tag, Examined)> = Vec::new();
        for (done, tag) in wanted.iter().enumerate() {
            progress.tell(session.err, || format!("{done} of {} journals examined", wanted.len()));
            if let Some(said) = bad.get(&format!("refs/heads/{tag}")) {
                let said = said.clone();
                joined.insert(tag.clone(), Err(ShareError::Unreadable { tag: tag.clone(), said }));
                continue;
            }
            let offered = offered.get(tag).map(Vec::as_slice).unwrap_or_default();
            match examine(&sharing(tag), tag, there.get(tag), offered) {
                Ok(sound) => examined.push((tag, sound)),
                Err(error) => drop(joined.insert(tag.clone(), Err(error))),
            }
        }
        let lines: Vec<CommitId> =
            examined.iter().flat_map(|(_, sound)| sound.kept.iter().chain(&sound.journal)).cloned().collect();
        transfer.take_over(&lines)?;
        let total = examined.len();
        for (done, (tag, sound)) in examined.into_iter().enumerate() {
            progress.tell(session.err, || format!("{done} of {total} journals"));
            let kept = keep(self.garage.store(), tag, &sound.kept).map_err(ShareError::from);
            joined.insert(tag.clone(), kept.and_then(|()| join(&sharing(tag), tag, there.get(tag))));
        }
        progress.wipe(session.err);
        Ok(joined)
    }

    fn definitions_of(&self, tag: &Tag, lines: &[&[FiledEntry]]) -> Result<DefinitionSet, JournalError> {
        let mut definitions = self.definitions.clone();
        for line in lines {
            let journal = Journal::new(self.garage.store(), tag.clone());
            let index = line.iter().collect();
            if let Cow::Owned(more) = journal.definitions(&definitions, &index)? {
                definitions = more;
            }
        }
        Ok(definitions)
    }

    /// Sends what the place has not. Hands back the journals that it did not take, and why.
    fn send(
        &self,
        program: &GitProgram,
        address: &Address,
        round: Round<'_>,
        joined: &BTreeMap<Tag, Result<JoinOutcome, ShareError>>,
    ) -> Result<BTreeMap<Tag, String>, Failure> {
        let Round { place, transfer, there, .. } = round;
        let store: &GitStore = self.garage.store();
        let sound = |tag: &str| tag.parse::<Tag>().is_ok_and(|tag| joined.get(&tag).is_some_and(Result::is_ok));
        let kept = place.kept_to_send(store, transfer.store())?.into_iter();
        let kept = kept.filter(|(name, _)| name.split('/').nth(2).is_some_and(sound));
        let to_send = |(name, commit): (String, CommitId)| ToSend { commit: commit.to_string(), name };
        let mut references: Vec<ToSend> = kept.map(to_send).collect();
        let tips = || joined.iter().filter_map(|(tag, result)| Some((tag, &result.as_ref().ok()?.tip)));
        let moved = tips().filter(|(tag, tip)| there.get(*tag) != Some(*tip));
        references.extend(moved.map(|(tag, tip)| to_send((format!("refs/heads/{tag}"), tip.clone()))));
        let mut rejected = BTreeMap::new();
        for sent in program.send(address, &references)? {
            let tag = sent.name.split('/').nth(2).and_then(|tag| tag.parse::<Tag>().ok());
            if let (Some(tag), Some(why)) = (tag, sent.refused) {
                rejected.insert(tag, why);
            }
        }
        for (tag, tip) in tips().filter(|(tag, _)| !rejected.contains_key(*tag)) {
            place.remember(store, tag, tip)?;
        }
        Ok(rejected)
    }
}
