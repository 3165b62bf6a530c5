//! Appends an entry: whole or not at all, and never behind an entry that it does not know of.

use std::borrow::Cow;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Author, Body, Entry, Reason};
use asfound_core::history::{History, HistoryBuilder};
use asfound_core::moment::Precision;
use asfound_core::names::EntryNumber;
use asfound_core::state::State;
use time::OffsetDateTime;

use super::basis::Basis;
use super::entry_index::EntryIndex;
use super::message::message;
use super::read::{FiledEntry, Journal, Signing};
use super::tree_draft::TreeDraft;
use super::{FileError, JournalError};
use crate::entry_files::{BLIND_PATH, Blind, EntryFile, Salt, VehicleFile};
use crate::index;
use crate::sign::{Meaning, SignedAs};
use crate::store::{self, CommitId, NewCommit, Store, StoreError};

/// How often an entry is drawn up anew when other programs append in between.
const TRIES: usize = 20;

/// A file to attach.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// Its name.
    pub name: String,
    /// Its content.
    pub content: Vec<u8>,
}

/// What an entry is to say; number, state and chain follow from the journal.
///
/// There is no entry without its author and its reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryDraft {
    /// When it is filed.
    pub recorded: OffsetDateTime,
    /// When it happened.
    pub happened: OffsetDateTime,
    /// How exactly that is known.
    pub precision: Precision,
    /// Who files it.
    pub author: Author,
    /// Why.
    pub why: Reason,
    /// What it holds.
    pub body: Body,
    /// Files to attach.
    pub evidence: Vec<Attachment>,
    /// Random bits.
    pub chance: EntryRandomness,
}

/// The random bits of an entry, handed in because this crate has no source of chance of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EntryRandomness {
    /// For the entry's salt.
    pub entry: [u8; 16],
    /// For the vehicle's salt, where this is the enrolment.
    pub vehicle: [u8; 16],
    /// For the blind of the entry's manifest.
    pub blind: [u8; 32],
}

/// The journal as it is when an entry is drawn up.
#[derive(Debug, Clone)]
pub struct Snapshot<'b> {
    /// Which entries there are so far.
    pub index: Cow<'b, EntryIndex>,
    /// The last of them.
    pub last: Option<FiledEntry>,
    /// The definitions, which explain the bytes and are pinned with the entry.
    pub definitions: &'b DefinitionSet,
    /// The life of every field so far.
    pub history: Cow<'b, History>,
}

/// What of the journal is needed to add an entry that is drawn up.
#[derive(Debug, Clone, Copy)]
pub(crate) struct AppendBase<'b> {
    pub(crate) state: &'b State,
    pub(crate) last: Option<&'b FiledEntry>,
    /// Where the index ends, where it is to be extended.
    pub(crate) place: Option<index::IndexEnd>,
    pub(crate) definitions: &'b DefinitionSet,
}

/// An entry that is in the journal.
#[derive(Debug, Clone)]
pub struct AppendedEntry {
    /// The entry.
    pub entry: Entry,
    /// Its commit.
    pub commit: CommitId,
    /// The history, this entry included.
    pub history: History,
}

impl<S: Store> Journal<'_, S> {
    /// Appends an entry.
    ///
    /// `draw_up` is handed the journal as it is and says what the entry should hold. When another program
    /// appends in the meantime, it is asked again with the journal as it is then: two programs that append
    /// at once both succeed, one after the other, and neither overlooks the other's entry.
    ///
    /// # Errors
    /// The refusal of `draw_up`, or why the journal cannot be read or written. Nothing is filed then.
    pub fn file<E>(
        &self,
        definitions: &DefinitionSet,
        mut draw_up: impl FnMut(&Snapshot) -> Result<EntryDraft, E>,
    ) -> Result<AppendedEntry, FileError<E>> {
        let filed = self.file_all(definitions, |before| Ok(vec![draw_up(before)?]))?;
        Ok(filed.into_iter().next().expect("as many entries are filed as were drawn up"))
    }

    /// Appends several entries one after the other: all of them or none, whatever interrupts it.
    ///
    /// As [`Journal::file`]; of an empty list nothing is filed.
    ///
    /// # Errors
    /// The refusal of `draw_up`, or why the journal cannot be read or written. Nothing is filed then.
    pub fn file_all<E>(
        &self,
        definitions: &DefinitionSet,
        mut draw_up: impl FnMut(&Snapshot) -> Result<Vec<EntryDraft>, E>,
    ) -> Result<Vec<AppendedEntry>, FileError<E>> {
        self.file_on(None, definitions, &mut draw_up)
    }

    /// The same by somebody who has gone through the journal before: `known` is which entries it had then, and the life of
    /// every field up to there, by these definitions. That is not worked out again unless the journal has moved on. Whoever has no
    /// further use for it hands it over: of a long journal two histories at once would take much room.
    ///
    /// # Errors
    /// As [`Journal::file_all`].
    pub fn file_on<E>(
        &self,
        mut known: Option<(&EntryIndex, Cow<'_, History>)>,
        definitions: &DefinitionSet,
        draw_up: &mut dyn FnMut(&Snapshot) -> Result<Vec<EntryDraft>, E>,
    ) -> Result<Vec<AppendedEntry>, FileError<E>> {
        for _ in 0..TRIES {
            let tip = self.store.tip(&self.tag).map_err(JournalError::from)?;
            let is_last = |index: &EntryIndex| index.last().and_then(|last| index.commit(last)) == tip;
            let (index, history) = match known.take().filter(|(index, _)| is_last(index)) {
                Some((index, history)) => (Cow::Borrowed(index), history),
                None => {
                    let (index, history) =
                        if tip.is_some() { self.followed(definitions)? } else { <(EntryIndex, History)>::default() };
                    (Cow::Owned(index), Cow::Owned(history))
                }
            };
            let last = index.last().map(|number| self.numbered(&index, number)).transpose()?;
            let before = Snapshot { index, last, definitions, history };
            let drafts = draw_up(&before).map_err(FileError::Refused)?;
            let Snapshot { index, last, history, .. } = before;
            let basis = Basis::of(drafts.iter().map(|draft| &draft.body));
            if !self.confirms(&index, history.state(), definitions, &basis)? {
                self.disown_index();
                continue;
            }
            // The life of every field takes some room, and is worked out anew with the new entries.
            let state = history.state().clone();
            drop(history);
            let tracing = self.tracing(&index, definitions, None)?;
            let under = AppendBase { state: &state, last: last.as_ref(), place: index.place, definitions };
            match self.append(under, tracing, drafts) {
                Err(JournalError::Store(StoreError::Moved { .. })) => {}
                other => return Ok(other?),
            }
        }
        Err(JournalError::KeepsMoving(self.tag.clone()).into())
    }

    /// The entries, and the life of every field by these definitions. Where they do not follow from each other, the index is
    /// thrown away and they are read from the journal itself, before that is called damaged.
    ///
    /// # Errors
    /// When the vehicle has no journal, it cannot be read, or its entries do not follow from each other.
    pub fn followed(&self, definitions: &DefinitionSet) -> Result<(EntryIndex, History), JournalError> {
        self.reread(|| {
            let index = self.index()?;
            let history = self.trace(&index, definitions, None)?;
            Ok((index, history))
        })
    }

    /// Appends one entry under `under`, up to where `tracing` has gone.
    pub(crate) fn append_one(
        &self,
        under: AppendBase<'_>,
        tracing: HistoryBuilder<'_>,
        draft: EntryDraft,
    ) -> Result<AppendedEntry, JournalError> {
        let filed = self.append(under, tracing, vec![draft])?;
        Ok(filed.into_iter().next().expect("as many entries are filed as were drawn up"))
    }

    fn append(
        &self,
        under: AppendBase<'_>,
        tracing: HistoryBuilder<'_>,
        drafts: Vec<EntryDraft>,
    ) -> Result<Vec<AppendedEntry>, JournalError> {
        let AppendBase { last, place, .. } = under;
        let mut drawn: Vec<PreparedEntry> = Vec::new();
        let mut tracing = Some(tracing);
        let mut left = drafts.len();
        for draft in drafts {
            left -= 1;
            let tree = match drawn.last() {
                None => TreeDraft::after(self, last)?,
                Some(earlier) => earlier.tree.following(&earlier.blind)?,
            };
            drawn.push(self.draw(under, drawn.last(), &mut tracing, left == 0, tree, draft)?);
        }
        let mut new = Vec::with_capacity(drawn.len());
        for drawn in &mut drawn {
            new.push(NewCommit {
                author: commit_author(&drawn.entry.author)?,
                when: drawn.entry.recorded,
                message: message(&drawn.entry, &drawn.history),
                files: drawn.tree.finish(),
            });
        }
        let signer = self.signing.map(|signing| signing.signer);
        let commits = self.store.append_all(&self.tag, last.map(|last| &last.commit), &new, signer)?;
        let mut filed = Vec::with_capacity(drawn.len());
        let mut frames = Vec::with_capacity(drawn.len());
        for (PreparedEntry { entry, history, tree, salt, signed, .. }, commit) in drawn.into_iter().zip(commits) {
            frames.push(FiledEntry {
                commit: commit.clone(),
                entry: entry.clone(),
                chain: tree.chain,
                signed,
                salt,
                replayed: self.replayed.clone(),
                source: self.source,
            });
            filed.push(AppendedEntry { entry, commit, history });
        }
        if let Some(((place, last), folder)) = place.zip(last).zip(self.store.index()) {
            index::extend(folder, &self.tag, place, &last.chain.peaks, &frames);
        }
        Ok(filed)
    }

    /// Draws up one entry behind those that are filed and `earlier`, which is drawn up, with the files of its commit.
    fn draw(
        &self,
        under: AppendBase<'_>,
        earlier: Option<&PreparedEntry>,
        tracing: &mut Option<HistoryBuilder<'_>>,
        is_last: bool,
        mut tree: TreeDraft,
        draft: EntryDraft,
    ) -> Result<PreparedEntry, JournalError> {
        let was = earlier.map_or(under.state, |earlier| earlier.history.state());
        let last = earlier.map(|earlier| earlier.entry.number).or(under.last.map(|last| last.entry.number));
        let enrols = matches!(draft.body, Body::Enrolled(_));
        let number = match last {
            Some(_) if enrols => return Err(JournalError::Enrolled(self.tag.clone())),
            None if !enrols => return Err(JournalError::NoVehicle(self.tag.clone())),
            None => EntryNumber::FIRST,
            Some(last) => last.next().ok_or_else(|| JournalError::Unfit("no number is left".to_owned()))?,
        };
        let entry = Entry {
            number,
            recorded: whole_second(draft.recorded),
            happened: whole_second(draft.happened),
            precision: draft.precision,
            author: draft.author,
            why: draft.why,
            body: draft.body,
        };
        let traced = tracing.as_mut().expect("it is given up with the last entry only");
        traced.entry(&entry)?;
        let history =
            if is_last { tracing.take() } else { tracing.clone() }.map(HistoryBuilder::finish).unwrap_or_default();

        let (salt, vehicle_salt) = (Salt::from(draft.chance.entry), Salt::from(draft.chance.vehicle));
        let blind = Blind::from(draft.chance.blind);
        tree.put(BLIND_PATH, blind.to_string())?;
        if let Body::Enrolled(vehicle) = &entry.body {
            tree.put("vehicle.toml", VehicleFile::new(vehicle.clone(), vehicle_salt).to_text())?;
        }
        let signed = self.signing.map(|Signing { signer, meaning }| SignedAs {
            meaning: meaning.unwrap_or_else(|| Meaning::of(&entry.body)),
            key: signer.public_key().fingerprint(),
        });
        if signed.as_ref().is_some_and(|said| !said.meaning.fits(&entry.body)) {
            return Err(JournalError::Unfit("its signature cannot have that meaning".to_owned()));
        }
        let file = EntryFile::new(&entry, salt.clone(), tree.chain.clone()).signed_as(signed.clone());
        let file = file.replayed(self.replayed.clone()).taken_from(self.source);
        tree.put("entry.toml", file.to_text())?;
        tree.modules(was, history.state(), under.definitions)?;
        for Attachment { name, content } in draft.evidence {
            tree.attach(number, &name, content)?;
        }
        Ok(PreparedEntry { entry, history, tree, blind, salt, signed })
    }
}

/// An entry that is drawn up and not filed yet.
struct PreparedEntry {
    entry: Entry,
    history: History,
    tree: TreeDraft,
    blind: Blind,
    salt: Salt,
    signed: Option<SignedAs>,
}

/// git keeps whole seconds; an entry says the same, so that the two can be held against each other.
fn whole_second(at: OffsetDateTime) -> OffsetDateTime {
    at.replace_nanosecond(0).unwrap_or(at)
}

fn commit_author(author: &Author) -> Result<store::Author, JournalError> {
    // git needs an address; `.invalid` is reserved for addresses that lead nowhere (RFC 2606, section 2).
    let email = author.email().unwrap_or("not-stated@invalid");
    store::Author::new(author.name(), email).map_err(|error| JournalError::Unfit(error.to_string()))
}
