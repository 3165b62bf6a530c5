//! `asfound import`

use std::collections::BTreeMap;
use std::path::PathBuf;

use asfound_capture::file::{ReadingSyntax, parse_reading};
use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Author, Body, PlainReason, ReadingRole, Vehicle};
use asfound_core::examination::{ReadingTerms, examine};
use asfound_core::moment::StatedTime;
use asfound_core::names::Tag;
use asfound_core::reading::Reading;
use asfound_journal::Digest;
use asfound_journal::VehicleLookup;
use asfound_journal::batch::{BatchEntry, BatchOutcome, VehicleBatch, file_all};
use asfound_journal::garage::Garage;
use asfound_journal::journal::{EntryDraft, Journal, JournalError, Signing, Snapshot};
use asfound_journal::store::{GitStore, Store};
use clap::Args as ClapArgs;
use time::OffsetDateTime;

use crate::bulk_import::{FoundReading, Sources};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::progress::Progress;
use crate::reading_input::{TableArgs, is_table, take};
use crate::screens::imported::ImportScreen;
use crate::setup::{Session, chance, garage_definitions, reason};

/// So many vehicles, readings and bytes are filed at once; after each portion what it held lasts.
const VEHICLES: usize = 200;
const READINGS: usize = 2_000;
const BYTES: usize = 16 * 1024 * 1024;

/// File the readings of many vehicles: every file below a folder, or every line of a stream.
///
/// Each file is one reading, and says itself which vehicle it is of (`vehicle` or `vin`), or has the vehicle's tag as its name or lies in
/// a folder of that name. Files are taken in the order of their paths. What was filed before is recognised by its SHA-256 and
/// passed over, so that a run that was cut off is simply started again; a file that is no good is named, and the others go on.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:
  asfound import ./readings
  asfound import ./readings --enrol --partial
  fleet-export | asfound import -

Exit codes: 0 everything is filed; 2 some readings were refused, and are named; 4 out of reach.")]
pub struct Args {
    /// A folder; or - for standard input, one reading in JSON on each line
    #[arg(value_name = "DIR|-")]
    pub place: PathBuf,

    /// Why they were taken: found, left or check; without it, found for the first reading and check for later ones
    #[arg(long = "as", value_name = "ROLE")]
    pub role: Option<ReadingRole>,

    /// They are meant to cover less than earlier readings; the rest keeps its last content
    #[arg(long)]
    pub partial: bool,

    /// Enrol vehicles that have no journal yet
    #[arg(long)]
    pub enrol: bool,

    /// Why they are filed
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,

    /// How tables are read
    #[command(flatten)]
    pub tables: TableArgs,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let garage = if args.enrol { session.garage_or_new()?.0 } else { session.garage()? };
    let mut sources = Sources::open(&args.place)?;
    let author = session.author(&garage)?;
    let signer = session.signer(&garage, &author)?;
    let intake = BulkImport {
        args,
        garage: &garage,
        definitions: garage_definitions(&garage)?,
        signing: signer.as_deref().map(|signer| Signing { signer, meaning: None }),
        author,
        now: session.environment.now,
    };
    let mut owners = VehicleLookup::of(garage.store())?;
    let mut taken_in = ImportScreen::new(sources.to_string());
    let total = sources.total();
    let mut progress = Progress::start(session.environment.colour_of_errors || session.environment.interactive);
    loop {
        let portion = intake.portion(&mut sources, &mut owners, &mut taken_in);
        if portion.is_empty() {
            break;
        }
        intake.file(&portion, &mut owners, &mut taken_in)?;
        // Every pack that was written stays mapped otherwise.
        garage.store().let_go();
        progress.tell(session.err, || match total {
            Some(total) => format!("{} of {total} readings", taken_in.looked_at()),
            None => format!("{} readings", taken_in.looked_at()),
        });
    }
    progress.wipe(session.err);
    let exit = match taken_in.refused.as_slice() {
        [] => Exit::Done,
        _ if taken_in.out_of_reach => Exit::Damaged,
        _ => Exit::Usage,
    };
    session.show(&taken_in)?;
    Ok(exit)
}

/// One reading whose vehicle is known.
struct ReadyReading {
    name: String,
    source: Digest,
    content: ReadyContent,
}

/// A reading, or a table that becomes one once it is known what the vehicle has.
enum ReadyContent {
    Reading(Box<Reading>),
    Table(PathBuf),
}

struct BulkImport<'a> {
    args: &'a Args,
    garage: &'a Garage,
    definitions: DefinitionSet,
    signing: Option<Signing<'a>>,
    author: Author,
    now: OffsetDateTime,
}

impl BulkImport<'_> {
    /// The next readings, by vehicle.
    fn portion(
        &self,
        sources: &mut Sources,
        owners: &mut VehicleLookup<'_, GitStore>,
        taken_in: &mut ImportScreen,
    ) -> BTreeMap<Tag, Vec<ReadyReading>> {
        let mut portion: BTreeMap<Tag, Vec<ReadyReading>> = BTreeMap::new();
        let (mut readings, mut size) = (0, 0);
        while portion.len() < VEHICLES && readings < READINGS && size < BYTES {
            let Some(found) = sources.next() else { break };
            size += found.bytes.as_ref().map_or(0, Vec::len);
            readings += 1;
            let name = found.name.clone();
            match self.ready(found, owners) {
                Ok((tag, ready)) => portion.entry(tag).or_default().push(ready),
                Err(why) => taken_in.refuse(name, why),
            }
        }
        portion
    }

    fn ready(
        &self,
        found: FoundReading,
        owners: &mut VehicleLookup<'_, GitStore>,
    ) -> Result<(Tag, ReadyReading), String> {
        let bytes = found.bytes?;
        let source = Digest::of(&bytes);
        let (mark, content) = match &found.path {
            Some(path) if is_table(path) => (None, ReadyContent::Table(path.clone())),
            None if ReadingSyntax::of(&bytes) != ReadingSyntax::Json => {
                return Err("this is no JSON: each line of a stream is one reading, written as JSON".to_owned());
            }
            _ => {
                let reading = parse_reading(&bytes)
                    .map_err(|problems| problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))?;
                (reading.vehicle.clone(), ReadyContent::Reading(Box::new(reading)))
            }
        };
        let tag = owners.owner(mark.as_ref(), found.path.as_deref()).map_err(|error| error.to_string())?;
        if !owners.knows(&tag) && !self.args.enrol {
            return Err(format!("there is no vehicle `{tag}` in this garage; `--enrol` starts its journal"));
        }
        Ok((tag, ReadyReading { name: found.name, source, content }))
    }

    /// Files a portion; when this returns, it lasts.
    fn file(
        &self,
        portion: &BTreeMap<Tag, Vec<ReadyReading>>,
        owners: &mut VehicleLookup<'_, GitStore>,
        taken_in: &mut ImportScreen,
    ) -> Result<(), Failure> {
        let new = |tag: &Tag| !owners.knows(tag);
        let sheaves: Vec<VehicleBatch<'_, Failure>> = portion
            .iter()
            .map(|(tag, readings)| {
                let enrolment = new(tag).then(|| self.enrolment(tag));
                let slips = readings.iter().map(|ready| self.entry(ready));
                VehicleBatch { tag: tag.clone(), slips: enrolment.into_iter().chain(slips).collect() }
            })
            .collect();
        let definitions = |tag: &Tag| self.definitions_of(tag);
        let outcomes = file_all(self.garage.store(), &sheaves, &definitions, self.signing)?;
        for ((tag, readings), outcomes) in portion.iter().zip(outcomes) {
            let enrolled = outcomes.len() > readings.len();
            if enrolled && matches!(outcomes.first(), Some(BatchOutcome::Filed(_))) {
                taken_in.enrolled += 1;
                owners.add(tag.clone());
            }
            for (ready, outcome) in readings.iter().zip(outcomes.into_iter().skip(usize::from(enrolled))) {
                match outcome {
                    BatchOutcome::Filed(_) => taken_in.filed += 1,
                    BatchOutcome::Known(_) => taken_in.known += 1,
                    BatchOutcome::Refused(failure) => taken_in.refuse(ready.name.clone(), failure.message),
                    BatchOutcome::Failed(error) => {
                        let failure = Failure::from(error);
                        taken_in.out_of_reach |= failure.exit == Exit::Damaged;
                        taken_in.refuse(ready.name.clone(), failure.message);
                    }
                }
            }
        }
        Ok(())
    }

    fn definitions_of(&self, tag: &Tag) -> Result<DefinitionSet, JournalError> {
        let Some(tip) = self.garage.store().tip(tag)? else { return Ok(self.definitions.clone()) };
        let journal = Journal::new(self.garage.store(), tag.clone());
        let at_hand = |(name, text): &(String, Vec<u8>)| {
            let id = name.parse().ok();
            id.and_then(|id| self.definitions.get(&id)).is_some_and(|found| found.text().as_bytes() == text)
        };
        // Most journals carry what the garage has: only others have to be looked into.
        if journal.pinned_definitions(&tip)?.iter().all(at_hand) {
            return Ok(self.definitions.clone());
        }
        Ok(journal.definitions(&self.definitions, &journal.index()?)?.into_owned())
    }

    fn enrolment(&self, tag: &Tag) -> BatchEntry<'_, Failure> {
        let vehicle = Vehicle { tag: tag.clone(), vin: None, about: None, enrolled: self.now };
        let draw_up = move |_: &Snapshot| {
            self.draft(&PlainReason::Started.to_string(), self.now.into(), Body::Enrolled(vehicle.clone()))
        };
        BatchEntry { source: None, draw_up: Box::new(draw_up) }
    }

    fn entry<'s>(&'s self, ready: &'s ReadyReading) -> BatchEntry<'s, Failure> {
        let draw_up = move |before: &Snapshot| {
            let state = before.history.state();
            let table;
            let reading = match &ready.content {
                ReadyContent::Reading(reading) => reading,
                ReadyContent::Table(path) => {
                    let (paths, tables) = (std::slice::from_ref(path), &self.args.tables);
                    table = take(paths, tables, &[], self.garage, before.definitions, state)?.reading;
                    &table
                }
            };
            let read_before = before.history.last_reading().is_some();
            let usual = if read_before { ReadingRole::Check } else { ReadingRole::AsFound };
            let terms =
                ReadingTerms { role: self.args.role.unwrap_or(usual), partial: self.args.partial, recorded: self.now };
            let examined = examine(reading, state, before.definitions, terms).map_err(|problems| {
                Failure::usage(problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))
            })?;
            let happened = reading.taken.unwrap_or_else(|| self.now.into());
            self.draft(&PlainReason::FromFiles(ready.name.clone()).to_string(), happened, Body::Reading(examined.body))
        };
        BatchEntry { source: Some(ready.source), draw_up: Box::new(draw_up) }
    }

    fn draft(&self, why: &str, happened: StatedTime, body: Body) -> Result<EntryDraft, Failure> {
        Ok(EntryDraft {
            recorded: self.now,
            happened: happened.at,
            precision: happened.precision,
            author: self.author.clone(),
            why: reason(self.args.why.as_deref(), why)?,
            body,
            evidence: Vec::new(),
            chance: chance()?,
        })
    }
}
