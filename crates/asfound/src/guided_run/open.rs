//! Begins a walk, or goes on with the one that was interrupted.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use asfound_core::entry::{Acknowledgement, Entry, StepPlace};
use asfound_core::history::History;
use asfound_core::names::EntryNumber;
use asfound_core::plan::{Event, GuidedRun, NextAction, SavedPlan, SavedStep};
use asfound_journal::garage_file;
use tempfile::NamedTempFile;
use time::OffsetDateTime;

use crate::failure::Failure;
use crate::plan_file::{InDoubt, load, rest, since};
use crate::planning::{acknowledged, has_steps};
use crate::setup::TracedJournal;
use asfound_journal::garage::{RunFile, RunFileError};

/// A walk that is open, with the file that it is kept in.
#[derive(Debug)]
pub struct OpenRun {
    /// The plan as it was when the walk began.
    pub plan: SavedPlan,
    /// Which walk of the plan it is, counted from 1.
    pub run: u32,
    /// Where it is.
    pub walk: GuidedRun,
    path: PathBuf,
    file: RunFile,
}

impl OpenRun {
    /// Takes in what happened; it is on the disk when this returns.
    ///
    /// # Errors
    /// When it does not fit where the walk is, or cannot be written; the walk is as it was then.
    pub fn note(&mut self, event: &Event, now: OffsetDateTime) -> Result<(), Failure> {
        let mut walk = self.walk.clone();
        walk.apply(event).map_err(Failure::usage)?;
        self.file.append(event, now).map_err(|error| damaged(&self.path, &error))?;
        self.walk = walk;
        Ok(())
    }

    /// The entry that this walk was filed in, if it is among these.
    pub fn filed(&self, entries: &[Entry]) -> Option<EntryNumber> {
        filed(entries, &self.plan, self.run)
    }
}

fn name(plan: &SavedPlan, run: u32) -> String {
    format!("{}-{run}", plan.id)
}

fn filed(entries: &[Entry], plan: &SavedPlan, run: u32) -> Option<EntryNumber> {
    let of_run = |entry: &&Entry| {
        entry.body.work().is_some_and(|work| work.plan.as_ref() == Some(&plan.id) && work.run == Some(run))
    };
    entries.iter().find(of_run).map(|entry| entry.number)
}

fn damaged(path: &Path, error: &RunFileError) -> Failure {
    let failure = Failure::damaged(format!("{}: {error}", path.display()));
    match error {
        RunFileError::Busy => Failure::refused(error).hint("wait until it is done"),
        RunFileError::Line { .. } => failure.hint(
            "read the records of the plan and file the reading; then move the file away and plan anew: what it told of \
             can no longer be relied on",
        ),
        RunFileError::Disk(_) => failure,
    }
}

/// Goes on with the last walk of a plan if it is open, else begins the next one, with the acknowledgements of the plan and
/// those given now.
///
/// # Errors
/// When there is nothing left of the plan, the journal has moved on in what it touches, nobody has acknowledged a restricted
/// system, or the walk's file is damaged.
pub fn open(
    known: &TracedJournal,
    saved: &SavedPlan,
    acknowledgements: Vec<Acknowledgement>,
    now: OffsetDateTime,
) -> Result<OpenRun, Failure> {
    known.garage.check_own()?;
    let folder = known.garage.path().join("work").join(known.tag.as_str());
    let below = Path::new("work").join(known.tag.as_str());
    garage_file::check_folders(known.garage.path(), &below).map_err(|error| damaged(&folder, &error.into()))?;
    make_folder(&folder).map_err(|error| damaged(&folder, &error.into()))?;
    let walked = |run: u32| folder.join(format!("{}.events", name(saved, run))).exists();
    let mut run = 1;
    if walked(run) {
        let carried_out = known.picked(&known.index, |entry| saved.is_in(entry))?;
        while walked(run) {
            if let Some(mut open) = resume(&folder, known, &carried_out, saved, run, now)? {
                open.plan.acknowledgements.extend(acknowledgements);
                return Ok(open);
            }
            run += 1;
        }
    }
    let mut saved = saved.clone();
    saved.acknowledgements.extend(acknowledgements);
    begin(&folder, known, &saved, run, now)
}

fn resume(
    folder: &Path,
    known: &TracedJournal,
    carried_out: &[Entry],
    saved: &SavedPlan,
    run: u32,
    now: OffsetDateTime,
) -> Result<Option<OpenRun>, Failure> {
    let path = folder.join(format!("{}.events", name(saved, run)));
    let file = RunFile::open(&path, &name(saved, run), now).map_err(|error| damaged(&path, &error))?;
    if matches!(file.events().last(), Some(Event::Filed(_) | Event::Ended)) {
        return Ok(None);
    }
    let plan = load(&folder.join(format!("{}.toml", name(saved, run))))?;
    let before: Vec<&Entry> = carried_out.iter().filter(|entry| entry.number <= plan.stands_on).collect();
    let then = doubtful(&plan, &known.history_at(plan.stands_on)?);
    let walk = GuidedRun::replay(plan.steps.clone(), &then, file.events());
    // Earlier versions looked at what this plan had left in doubt alone, read since or not.
    let walk = walk.or_else(|_| GuidedRun::replay(plan.steps.clone(), &plan.doubtful(before), file.events()));
    let walk = walk.map_err(|error| Failure::damaged(format!("{}: {error}", path.display())))?;
    let mut open = OpenRun { plan, run, walk, path, file };
    // It was filed, and the program was killed before it noted that.
    if let Some(entry) = open.filed(carried_out) {
        open.note(&Event::Filed(entry), now)?;
        return Ok(None);
    }
    Ok(Some(open))
}

fn begin(
    folder: &Path,
    known: &TracedJournal,
    saved: &SavedPlan,
    run: u32,
    now: OffsetDateTime,
) -> Result<OpenRun, Failure> {
    let journal = known.journal();
    let (rest, _) = rest(saved, journal.each(&known.index), &known.history, &known.definitions, InDoubt::ReadFirst)?;
    has_steps(&rest)?;
    acknowledged(&rest, &saved.acknowledgements)?;
    let plan =
        SavedPlan { stands_on: rest.stands_on, steps: rest.steps.iter().map(SavedStep::of).collect(), ..saved.clone() };
    let at = folder.join(format!("{}.toml", name(&plan, run)));
    write_whole(folder, &at, plan.to_text().as_bytes()).map_err(|error| damaged(&at, &error.into()))?;
    let path = folder.join(format!("{}.events", name(&plan, run)));
    let file = RunFile::open(&path, &name(&plan, run), now).map_err(|error| damaged(&path, &error))?;
    let walk = GuidedRun::new(plan.steps.clone(), &doubtful(&plan, &known.history));
    Ok(OpenRun { plan, run, walk, path, file })
}

/// The places of a plan's steps of which nobody knows what earlier work left there.
fn doubtful(plan: &SavedPlan, history: &History) -> BTreeSet<StepPlace> {
    let in_doubt = |place: &StepPlace| history.open_steps().at(place).is_some();
    plan.steps.iter().map(SavedStep::place).filter(in_doubt).collect()
}

impl OpenRun {
    /// Whether a write was asked for of which it is not known yet what came of it. The answer to that is taken in whatever
    /// the journal has become meanwhile.
    pub fn has_unanswered_write(&self) -> bool {
        matches!(
            self.walk.next(),
            NextAction::Answer(_) | NextAction::LookFirst(_) | NextAction::ReadBack(_) | NextAction::Otherwise(..)
        )
    }

    /// Refuses to go on where the journal has moved on under the walk.
    ///
    /// # Errors
    /// Names the step and what moved.
    pub fn stands(&self, known: &TracedJournal) -> Result<(), Failure> {
        if matches!(self.walk.next(), NextAction::File | NextAction::Over) {
            return Ok(());
        }
        let (moved, _) = since(&self.plan, known.journal().each(&known.index), &known.definitions)?;
        let hint = format!("stop here and file what was made (asfound work {} FILE --stop --why TEXT)", known.tag);
        if let Some(first) = moved.first() {
            let message = format!("entry {} has moved {} since the walk began", first.entry, first.field);
            return Err(Failure::refused(message).hint(hint));
        }
        match self.walk.overtaken(known.state(), &known.definitions) {
            None => Ok(()),
            Some((step, place)) => {
                let message = format!("the journal has something else for {place} since the walk began (step {step})");
                Err(Failure::refused(message).hint(hint))
            }
        }
    }
}

/// Makes a folder and those above it, so that they last.
fn make_folder(folder: &Path) -> io::Result<()> {
    let missing: Vec<&Path> = folder.ancestors().take_while(|path| !path.exists()).collect();
    for folder in missing.into_iter().rev() {
        match fs::create_dir(folder) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(error),
            _ => {}
        }
        if let Some(above) = folder.parent() {
            sync_folder(above)?;
        }
    }
    Ok(())
}

/// Writes a file so that it is there whole or not at all.
fn write_whole(folder: &Path, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = NamedTempFile::new_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|error| error.error)?;
    sync_folder(folder)
}

fn sync_folder(folder: &Path) -> io::Result<()> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    // Elsewhere a folder cannot be opened as a file; there the file system orders the names itself.
    if cfg!(unix) { fs::File::open(folder)?.sync_all() } else { Ok(()) }
}
