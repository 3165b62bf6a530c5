//! Draws up entries anew behind those of another line.

use asfound_core::definition::DefinitionSet;
use asfound_core::history::HistoryBuilder;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::state::State;

use super::{ShareError, Sharing};
use crate::entry_files::ReplayOrigin;
use crate::journal::{AppendBase, Attachment, EntryDraft, EntryRandomness, Journal, JournalError, Signing};
use crate::renumbering::{Counterparts, EntryMove, happened, stands, states};
use crate::store::StagedLine;

/// The entries that were drawn up anew: the number each had, and the one it has.
pub(super) type Renumbered = Vec<(EntryNumber, EntryNumber)>;

/// Appends those entries of `here` to the line `beside` that are not in it yet.
pub(super) fn replay(
    sharing: &Sharing<'_>,
    tag: &Tag,
    here: &[crate::journal::FiledEntry],
    mut there: Vec<crate::journal::FiledEntry>,
    definitions: &DefinitionSet,
    beside: &StagedLine<'_>,
) -> Result<Renumbered, ShareError> {
    let source = Journal::new(sharing.store, tag.clone());
    let mut counterparts = Counterparts::of(here, &there);
    let misfit = |entries: &[crate::journal::FiledEntry]| {
        let folded = State::fold(entries.iter().map(|filed| &filed.entry));
        folded.map_err(|source| JournalError::Misfit { tag: tag.clone(), source })
    };
    let Some(before) = states(here) else { return Err(misfit(here).err().map_or_else(gone, ShareError::from)) };
    let mut renumbered = Renumbered::new();
    for at in counterparts.shared..here.len() {
        if counterparts.index(at).is_some() {
            continue;
        }
        let filed = &here[at];
        let entry = &filed.entry;
        let now = misfit(&there)?;
        let between = EntryMove {
            was: &before[at],
            after: &before[at + 1],
            now: &now,
            happened: &|number| happened(&there, number),
            number: &|number| counterparts.number(number),
        };
        let body = stands(here, at, &there, &counterparts)
            .and_then(|()| between.carry(&entry.body, entry.happened))
            .map_err(|obstacle| ShareError::DoesNotFollow { tag: tag.clone(), number: entry.number, obstacle })?;
        let evidence = source.evidence(&filed.commit, entry.number)?;
        let salt = filed.salt.bits().ok_or_else(|| JournalError::Unfit("its salt is not well formed".to_owned()))?;
        let draft = EntryDraft {
            recorded: sharing.now,
            happened: entry.happened,
            precision: entry.precision,
            author: entry.author.clone(),
            why: entry.why.clone(),
            body,
            evidence: evidence.into_iter().map(|(name, content)| Attachment { name, content }).collect(),
            chance: EntryRandomness { entry: salt, vehicle: [0; 16], blind: (sharing.blind)()? },
        };
        let replayed = ReplayOrigin {
            number: entry.number,
            commit: filed.commit.clone(),
            recorded: entry.recorded,
            by: sharing.by.name().to_owned(),
        };
        // What was meant stays; whose signature it is now, `[replayed]` tells.
        let meant = filed.signed.as_ref().map(|signed| signed.meaning);
        let signing = sharing.signing.map(|signing| Signing { meaning: meant, ..signing });
        let journal = Journal::new(beside, tag.clone()).signing(signing);
        let journal = journal.replaying(replayed).taking_from(filed.source);
        let mut tracing = HistoryBuilder::new(definitions);
        for filed in &there {
            tracing.entry(&filed.entry).map_err(JournalError::from)?;
        }
        let under = AppendBase { state: &now, last: there.last(), place: None, definitions };
        let new = journal.append_one(under, tracing, draft)?;
        there.extend(journal.entries_of(std::slice::from_ref(&new.commit))?);
        counterparts.set(at, there.len() - 1);
        renumbered.push((entry.number, new.entry.number));
    }
    Ok(renumbered)
}

/// A line that does not fold and of which nothing says why: it was rewritten while it was read.
fn gone() -> ShareError {
    JournalError::Unfit("the journal changed while it was read".to_owned()).into()
}
