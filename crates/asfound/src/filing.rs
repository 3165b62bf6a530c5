//! Filing an entry from a command: author, reason, time, attached files.

use std::borrow::Cow;
use std::path::PathBuf;
use std::rc::Rc;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Author, Body, Entry, Moment, Reason};
use asfound_core::history::History;
use asfound_core::moment::{Precision, StatedTime};
use asfound_core::names::EntryNumber;
use asfound_core::state::State;
use asfound_journal::garage::Garage;
use asfound_journal::journal::{
    AppendedEntry, Attachment, EntryDraft, EntryIndex, EntryRandomness, Journal, Signing, Snapshot,
};
use asfound_journal::sign::{Meaning, Signer};
use asfound_journal::store::GitStore;
use time::OffsetDateTime;

use crate::bounded_file::read_bounded;
use crate::failure::Failure;
use crate::setup::{DefinedJournal, Session, TracedJournal, chance};

/// The largest file that is attached, in bytes.
pub const LARGEST: u64 = 64 * 1024 * 1024;

/// Everything of an entry but what it holds.
#[derive(Debug, Clone)]
pub struct Filing {
    recorded: OffsetDateTime,
    happened: StatedTime,
    author: Author,
    why: Reason,
    evidence: Vec<Attachment>,
    chance: EntryRandomness,
    signer: Option<Rc<dyn Signer>>,
    meaning: Option<Meaning>,
}

impl Filing {
    /// An entry of now, by the author of this run.
    ///
    /// # Errors
    /// When nobody is named as author, or the garage has a key that is not to be had.
    pub fn new(session: &Session<'_>, garage: &Garage, why: Reason) -> Result<Self, Failure> {
        let now = session.environment.now;
        let author = session.author(garage)?;
        let signer = session.signer(garage, &author)?;
        // Where several people file, or sign, who it is filed as is said each time.
        if signer.is_some() || !garage.settings().people.is_empty() {
            let key = match &signer {
                Some(signer) => format!("signed with {}", signer.public_key().fingerprint()),
                None => "not signed".to_owned(),
            };
            session.filed_as.replace(Some(format!("By {author}, {key}.")));
        }
        let (evidence, chance) = (Vec::new(), chance()?);
        Ok(Self { recorded: now, happened: now.into(), author, why, evidence, chance, signer, meaning: None })
    }

    /// The same about another moment than now.
    #[must_use]
    pub fn happened(mut self, at: Option<StatedTime>) -> Self {
        self.happened = at.unwrap_or(self.happened);
        self
    }

    /// The entry as it would be filed after `state`.
    pub fn entry(&self, body: Body, state: &State) -> Entry {
        let number = state.last.and_then(EntryNumber::next).unwrap_or(EntryNumber::FIRST);
        let StatedTime { at: happened, precision } = self.happened;
        let (author, why) = (self.author.clone(), self.why.clone());
        Entry { number, recorded: self.recorded, happened, precision, author, why, body }
    }

    /// When what it tells of happened, as the next entry after `state`.
    pub fn moment(&self, state: &State) -> Moment {
        let number = state.last.and_then(EntryNumber::next).unwrap_or(EntryNumber::FIRST);
        Moment::new(number, self.happened, self.recorded)
    }

    /// The same, signed with another meaning than its kind has.
    ///
    /// # Errors
    /// When the garage has no key: without a signature it would mean nothing.
    pub fn meaning(mut self, meaning: Meaning) -> Result<Self, Failure> {
        if self.signer.is_none() {
            return Err(Failure::usage(format!(
                "`{meaning}` is the meaning of a signature, and this garage has no key"
            ))
            .hint("`asfound key use FILE` names one"));
        }
        self.meaning = Some(meaning);
        Ok(self)
    }

    /// Keeps something with it that is no file.
    pub fn keep(&mut self, evidence: Attachment) {
        self.evidence.push(evidence);
    }

    /// The same with files attached.
    ///
    /// # Errors
    /// When a file cannot be read or is too large.
    pub fn attach(mut self, paths: &[PathBuf]) -> Result<Self, Failure> {
        for path in paths {
            let content = read_bounded(path, LARGEST).map_err(|error| unreadable(path, &error))?;
            let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            self.evidence.push(Attachment { name, content });
        }
        Ok(self)
    }
}

/// A file that cannot be read.
pub fn unreadable(path: &std::path::Path, error: &std::io::Error) -> Failure {
    let failure = Failure::usage(format!("{}: {error}", path.display()));
    if error.kind() == std::io::ErrorKind::NotFound { failure.hint("check the name of the file") } else { failure }
}

/// The journal that something is filed in.
pub struct FileTarget<'k> {
    /// The journal.
    pub journal: Journal<'k, GitStore>,
    /// What is known of it already, so that it is not worked out again.
    pub so_far: Option<(&'k EntryIndex, Cow<'k, History>)>,
    /// The definitions that explain its bytes.
    pub definitions: &'k DefinitionSet,
}

impl<'k> From<&'k TracedJournal> for FileTarget<'k> {
    fn from(known: &'k TracedJournal) -> Self {
        let so_far = Some((&known.index, Cow::Borrowed(&known.history)));
        Self { journal: known.journal(), so_far, definitions: &known.definitions }
    }
}

impl<'k> FileTarget<'k> {
    /// The same where nobody needs the history as it was any more once the entry is drawn up.
    pub fn giving_up(explained: &'k DefinedJournal, history: History) -> Self {
        let so_far = Some((&explained.index, Cow::Owned(history)));
        Self { journal: explained.journal(), so_far, definitions: &explained.definitions }
    }
}

/// One of several entries that are filed together.
#[derive(Debug, Clone)]
pub struct EntryPart {
    /// When it happened.
    pub happened: OffsetDateTime,
    /// Why.
    pub why: Reason,
    /// What it holds.
    pub body: Body,
    /// Files to attach.
    pub evidence: Vec<Attachment>,
}

/// Files several entries, all of them or none. `hold` says what they hold, given the journal as it is at that very moment.
///
/// # Errors
/// The refusal of `hold`, or why the journal cannot be written; nothing is filed then.
pub fn file_all<'k>(
    onto: impl Into<FileTarget<'k>>,
    filing: &Filing,
    mut hold: impl FnMut(&Snapshot) -> Result<Vec<EntryPart>, Failure>,
) -> Result<Vec<AppendedEntry>, Failure> {
    let signing = filing.signer.as_deref().map(|signer| Signing { signer, meaning: filing.meaning });
    let FileTarget { journal, so_far, definitions } = onto.into();
    let filed = journal.signing(signing).file_on(so_far, definitions, &mut |before| {
        let drafts = hold(before)?.into_iter().map(|EntryPart { happened, why, body, evidence }| {
            let (recorded, precision) = (filing.recorded, Precision::Second);
            let (author, chance) = (filing.author.clone(), chance()?);
            Ok::<_, Failure>(EntryDraft { recorded, happened, precision, author, why, body, evidence, chance })
        });
        drafts.collect()
    })?;
    Ok(filed)
}

/// Files an entry. `hold` says what it holds, given the journal as it is at that very moment.
///
/// # Errors
/// The refusal of `hold`, or why the journal cannot be written; nothing is filed then.
pub fn file<'k>(
    onto: impl Into<FileTarget<'k>>,
    filing: &Filing,
    mut hold: impl FnMut(&Snapshot) -> Result<Body, Failure>,
) -> Result<AppendedEntry, Failure> {
    let signing = filing.signer.as_deref().map(|signer| Signing { signer, meaning: filing.meaning });
    let FileTarget { journal, so_far, definitions } = onto.into();
    let filed = journal.signing(signing).file_on(so_far, definitions, &mut |before| {
        Ok::<_, Failure>(vec![EntryDraft {
            recorded: filing.recorded,
            happened: filing.happened.at,
            precision: filing.happened.precision,
            author: filing.author.clone(),
            why: filing.why.clone(),
            body: hold(before)?,
            evidence: filing.evidence.clone(),
            chance: filing.chance,
        }])
    })?;
    Ok(filed.into_iter().next().expect("as many entries are filed as were drawn up"))
}
