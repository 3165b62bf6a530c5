//! Starts a journal in a garage on the disk, seals it, and verifies it: what a program of a workshop does before and after a hand-over.
#![allow(clippy::print_stdout, reason = "an example prints what it finds")]

use std::error::Error;
use std::num::NonZero;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Author, Body, Reason, Vehicle};
use asfound_core::moment::Precision;
use asfound_core::names::Tag;
use asfound_journal::audit::{AuditOptions, audit};
use asfound_journal::garage::Garage;
use asfound_journal::journal::{EntryDraft, EntryRandomness, FileError, Journal};
use asfound_journal::sign::AllowedSigners;
use time::macros::datetime;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let garage = Garage::create(&folder.path().join("garage"))?;
    let tag: Tag = "wren".parse()?;
    let journal = Journal::new(garage.store(), tag.clone());

    let at = datetime!(2026-03-14 09:00 +1);
    let vehicle = Vehicle { tag: tag.clone(), vin: None, about: None, enrolled: at };
    let enrol = EntryDraft {
        recorded: at,
        happened: at,
        precision: Precision::Second,
        author: Author::new("bench 2", None)?,
        why: Reason::try_from("journal started".to_owned())?,
        body: Body::Enrolled(vehicle),
        evidence: Vec::new(),
        // A program takes these from the system's source of chance.
        chance: EntryRandomness { entry: [1; 16], vehicle: [2; 16], blind: [3; 32] },
    };
    let filed = journal.file(&DefinitionSet::new(), |_| Ok::<_, Box<dyn Error>>(enrol.clone()));
    filed.map_err(|error: FileError<Box<dyn Error>>| format!("{error:?}"))?;
    println!("sealed as {}", journal.seal(None)?);

    let trusted = AllowedSigners::default();
    let found =
        audit(garage.store(), &tag, AuditOptions { allowed: &trusted, threads: NonZero::<usize>::MIN }, &mut |_| {})?;
    found.findings.iter().for_each(|finding| println!("{finding}"));
    println!("{} entries, {}", found.entries_checked, if found.is_sound() { "sound" } else { "not sound" });
    assert!(found.is_sound());
    Ok(())
}

#[test]
fn runs() -> Result<(), Box<dyn Error>> {
    main()
}
