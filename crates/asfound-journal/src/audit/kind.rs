//! What an audit can find.

use asfound_core::names::{EntryNumber, ModuleName};
use asfound_core::safety::SafetyTag;
use asfound_core::state::InvalidEffect;
use thiserror::Error;
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

use super::{ChainFault, CodesFault, DefinitionFault, FindingLevel, ModuleFault, VehicleFault};
use crate::manifest::ManifestError;
use crate::sign::{BadSignature, Fingerprint, TrustDoubt};
use crate::store::RepositoryOddity;
use crate::{Digest, FilePathError};

/// What an audit can find. The texts say what is wrong without naming the entry, which the finding does.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum FindingKind {
    // What could not be read.
    /// An object is not there.
    #[error("{object} is missing{}", of(path.as_deref()))]
    Missing {
        /// Its kind and id.
        object: String,
        /// The file whose content it is.
        path: Option<String>,
    },
    /// An object is not what its id says, or is no object at all.
    #[error("{object} is damaged{}: {detail}", of(path.as_deref()))]
    Damaged {
        /// Its kind and id.
        object: String,
        /// The file whose content it is.
        path: Option<String>,
        /// What is wrong with it.
        detail: String,
    },
    /// The disk or the operating system refused.
    #[error("{detail}")]
    OutOfReach {
        /// What was refused, and why.
        detail: String,
    },
    /// The commit before this one cannot be read, so that the entries before it cannot be reached.
    #[error("the entries before it cannot be reached")]
    Severed,
    /// A file has a format of a newer version of this program.
    #[error("`{path}` has the format `{format}`, which this version does not know")]
    NewerFormat {
        /// The file.
        path: String,
        /// Its format.
        format: String,
    },

    // The commit.
    /// It has more parents than the commit of the entry before.
    #[error("its commit has {0} parents; an entry follows one other")]
    Parents(usize),
    /// Its author is not the entry's.
    #[error("its commit names `{found}` as the author, the entry `{stated}`")]
    Author {
        /// As the entry states it.
        stated: String,
        /// As the commit names it.
        found: String,
    },
    /// Its committer is not the entry's author.
    #[error("its commit was made by `{found}`, the entry by `{stated}`: another program has rewritten the commit")]
    Committer {
        /// As the entry states it.
        stated: String,
        /// As the commit names it.
        found: String,
    },
    /// Its time is not that at which the entry was recorded.
    #[error("its commit is dated {found}, the entry {stated}")]
    CommitTime {
        /// As the entry states it.
        stated: String,
        /// As the commit has it.
        found: String,
    },
    /// Its head says more than commits of entries do.
    #[error("its commit has the field `{0}`, which commits of entries have not")]
    CommitField(String),
    /// Its message does not begin with the number and the kind of the entry.
    #[error("its commit's message begins with `{found}` and not with `{wanted}`")]
    MessageHead {
        /// How it would begin.
        wanted: String,
        /// How it begins.
        found: String,
    },
    /// Its message does not give the entry's reason.
    #[error("its commit's message gives another reason than the entry")]
    MessageReason,

    /// Its signature does not hold, is by another key than the entry names, or is gone.
    #[error("{0}")]
    SignatureBad(BadSignature),
    /// Its signature holds, but nothing says whose key it is by.
    #[error("its signature holds, but {why}: {fingerprint}")]
    SignatureUnknown {
        /// The key.
        fingerprint: Fingerprint,
        /// Why it is not trusted.
        why: TrustDoubt,
    },
    /// It is not signed, though an entry before it is.
    #[error("it is not signed, though entries before it are")]
    SignatureMissing,
    /// It is signed by somebody else than its author.
    #[error("it is signed by {principal}, who is not its author")]
    SignedForAnother {
        /// The name by which the key is trusted.
        principal: String,
    },

    // Entries that stood elsewhere before.
    /// It stood elsewhere before and said something else there.
    #[error("it does not say what it said in the line in which it stood before")]
    ReplayedOtherwise,
    /// It stood elsewhere before, and that line is not here.
    #[error("it was entry {number} of another line before, which is not kept here")]
    ReplayedFrom {
        /// Its number there.
        number: EntryNumber,
    },
    /// A line that is kept beside the journal has entries that are not in it.
    #[error("entries {first} to {last} of a line that is kept beside the journal were set aside and are not in it")]
    KeptAside {
        /// The first of them.
        first: EntryNumber,
        /// The last of them.
        last: EntryNumber,
    },
    /// A line that is kept beside the journal is not sound or cannot be read; the journal does not rest on it.
    #[error("a line that is kept beside the journal is not sound: {0}")]
    KeptUnread(String),

    // Beside the journal.
    /// Git shows another object in the place of one; the program does not.
    #[error("git shows another object in the place of {0} (refs/replace/{0}); this was read as it was written")]
    Replaced(String),
    /// Git takes other parents for a commit than it has; the program does not.
    #[error("git takes other parents for commit {0} than it has (info/grafts); this was read as it was written")]
    Grafted(String),
    /// Git takes a commit for the first one; the program does not.
    #[error("git takes commit {0} for the first one (shallow); this was read as it was written")]
    Shallow(String),
    /// The index says something else of this entry, and perhaps of later ones.
    #[error("the index says something else of it than the journal does; it was thrown away and is made anew")]
    Index,

    // Tree and manifest.
    /// A tree holds something that no tree of an entry does: a link, another repository, a mode, a name twice or out of order.
    #[error("{object} is not the tree of an entry: {detail}")]
    Tree {
        /// Its kind and id.
        object: String,
        /// What is odd about it.
        detail: String,
    },
    /// Two paths differ in nothing but the case of letters, so that some systems can hold only one of them.
    #[error("`{path}` and `{other}` differ only in the case of letters")]
    CaseOnly {
        /// The one that appeared.
        path: String,
        /// The other.
        other: String,
    },
    /// A file that every entry has is not there.
    #[error("it has no file `{0}`")]
    NoFile(&'static str),
    /// The manifest is not well formed.
    #[error("{0}")]
    Manifest(ManifestError),
    /// The manifest lists a file that is not there.
    #[error("`{0}` is in the manifest and not among the files")]
    Lacking(String),
    /// A file is not in the manifest.
    #[error("`{0}` is not in the manifest")]
    NotListed(String),
    /// A file is not the one that the manifest was made for.
    #[error("`{path}` is not what the manifest says: its SHA-256 is {found}")]
    Content {
        /// The file.
        path: String,
        /// The digest of what is there.
        found: Digest,
    },
    /// A file has a path that no file of an entry can have.
    #[error("{0}")]
    Path(FilePathError),
    /// A file is none that this format knows.
    #[error("unexpected file `{0}`: entries have no such file")]
    UnknownFile(String),
    /// A file is filed as evidence of another entry.
    #[error("`{0}` is evidence of another entry")]
    ForeignEvidence(String),
    /// A definition that the entry before had is gone.
    #[error("`{0}`, which the entry before had, is gone")]
    Dropped(String),
    /// The blind is not well formed.
    #[error("the file `blind` does not hold 64 lower-case hexadecimal digits and a line end")]
    Blind,

    // The entry and its place.
    /// `entry.toml` is not of its form.
    #[error("{0}")]
    EntryFile(String),
    /// Its number is not the one that follows.
    #[error("it stands where entry {expected} should be")]
    Number {
        /// The number that should be there.
        expected: EntryNumber,
    },
    /// Its chain is not what the entries before it give.
    #[error("{0}")]
    Chain(ChainFault),
    /// What it says was found is not what the entries before it give.
    #[error("{}", misfit(.0))]
    Misfit(InvalidEffect),
    /// It was recorded before the entry before it.
    #[error("it was recorded at {}, before the entry before it, at {}: a clock was wrong", shown(*recorded), shown(*before))]
    RunsBackwards {
        /// When the entry before was recorded.
        before: OffsetDateTime,
        /// When it was recorded itself.
        recorded: OffsetDateTime,
    },
    /// It tells of something that happened after it was recorded.
    #[error("it tells of what happened at {} and was recorded before that, at {}", shown(*happened), shown(*recorded))]
    HappenedLater {
        /// When what it tells of happened.
        happened: OffsetDateTime,
        /// When it was recorded.
        recorded: OffsetDateTime,
    },

    /// It alters restricted systems that nobody has acknowledged in it.
    #[error("it alters a restricted system ({}) and holds no acknowledgement of that", systems(.0))]
    Unacknowledged(Vec<SafetyTag>),

    // What follows from the entries.
    /// `vehicle.toml` is not as it should be.
    #[error("{0}")]
    Vehicle(VehicleFault),
    /// A module's file is not what the entries give.
    #[error("`modules/{module}.toml` {fault}")]
    Module {
        /// The module.
        module: ModuleName,
        /// What is wrong with it.
        fault: ModuleFault,
    },
    /// `trouble-codes.toml` is not what the entries give.
    #[error("`trouble-codes.toml` {0}")]
    Codes(CodesFault),
    /// A definition in the entry cannot explain anything.
    #[error("`{path}` {fault}")]
    Definition {
        /// The file.
        path: String,
        /// What is wrong with it.
        fault: DefinitionFault,
    },
}

impl From<RepositoryOddity> for FindingKind {
    fn from(oddity: RepositoryOddity) -> Self {
        match oddity {
            RepositoryOddity::Replaced(id) => Self::Replaced(id),
            RepositoryOddity::Grafted(id) => Self::Grafted(id),
            RepositoryOddity::Shallow(id) => Self::Shallow(id),
        }
    }
}

fn of(path: Option<&str>) -> String {
    path.map(|path| format!(" (`{path}`)")).unwrap_or_default()
}

/// What does not follow, without the entry's number.
fn misfit(misfit: &InvalidEffect) -> String {
    match misfit {
        InvalidEffect::Found { module, what, .. } => {
            format!("what it says was found in {module} {what} is not what the entries before it give")
        }
        InvalidEffect::Enrolment(_) => "a journal starts with the enrolment and has only one".to_owned(),
        other @ InvalidEffect::Number { .. } => other.to_string(),
    }
}

fn systems(systems: &[SafetyTag]) -> String {
    systems.iter().map(|system| system.as_str()).collect::<Vec<_>>().join(", ")
}

/// A time as the files have it: RFC 3339.
pub(super) fn shown(at: OffsetDateTime) -> String {
    at.format(&Rfc3339).unwrap_or_else(|_| at.to_string())
}

impl FindingKind {
    /// How much it weighs.
    pub fn level(&self) -> FindingLevel {
        match self {
            Self::Missing { .. }
            | Self::Damaged { .. }
            | Self::OutOfReach { .. }
            | Self::Severed
            | Self::NewerFormat { .. } => FindingLevel::Unreadable,
            // A message is for readers, nothing follows from it; and a clock may have been wrong in good faith.
            Self::CommitField(_)
            | Self::MessageHead { .. }
            | Self::MessageReason
            | Self::UnknownFile(_)
            | Self::SignatureUnknown { .. }
            | Self::SignatureMissing
            | Self::RunsBackwards { .. }
            | Self::ReplayedFrom { .. }
            | Self::KeptUnread(_)
            | Self::Replaced(_)
            | Self::Grafted(_)
            | Self::Shallow(_)
            | Self::Index => FindingLevel::Doubt,
            Self::HappenedLater { .. }
            | Self::SignedForAnother { .. }
            | Self::KeptAside { .. }
            | Self::Unacknowledged(_) => FindingLevel::Remark,
            _ => FindingLevel::Tampering,
        }
    }

    /// A word for programs, which does not change.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Missing { .. } => "object-missing",
            Self::Damaged { .. } => "object-damaged",
            Self::OutOfReach { .. } => "out-of-reach",
            Self::Severed => "severed",
            Self::NewerFormat { .. } => "newer-format",
            Self::Parents(_) => "parents",
            Self::Author { .. } => "commit-author",
            Self::Committer { .. } => "committer",
            Self::CommitTime { .. } => "commit-time",
            Self::CommitField(_) => "commit-field",
            Self::MessageHead { .. } | Self::MessageReason => "commit-message",
            Self::SignatureBad(_) => "signature-bad",
            Self::SignatureUnknown { .. } => "signature-unknown",
            Self::SignatureMissing => "signature-missing",
            Self::SignedForAnother { .. } => "signed-for-another",
            Self::NoFile(_) => "no-file",
            Self::Manifest(_) => "manifest-form",
            Self::Lacking(_) => "file-lacking",
            Self::NotListed(_) => "file-not-listed",
            Self::Content { .. } => "file-content",
            Self::Path(_) => "file-path",
            Self::UnknownFile(_) => "file-unknown",
            Self::ForeignEvidence(_) => "foreign-evidence",
            Self::Dropped(_) => "definition-dropped",
            Self::Blind => "blind",
            Self::EntryFile(_) => "entry-form",
            Self::Number { .. } => "number",
            Self::Chain(_) => "chain",
            Self::Misfit(_) => "misfit",
            Self::RunsBackwards { .. } => "runs-backwards",
            Self::HappenedLater { .. } => "happened-later",
            Self::Unacknowledged(_) => "unacknowledged",
            Self::Vehicle(_) => "vehicle",
            Self::Module { .. } => "module",
            Self::Codes(_) => "trouble-codes",
            Self::Definition { .. } => "definition",
            Self::ReplayedOtherwise => "replayed-otherwise",
            Self::ReplayedFrom { .. } => "replayed-from-elsewhere",
            Self::KeptAside { .. } => "set-aside",
            Self::KeptUnread(_) => "kept-line-unsound",
            Self::Replaced(_) => "replaced-object",
            Self::Grafted(_) => "graft",
            Self::Shallow(_) => "shallow",
            Self::Tree { .. } => "tree",
            Self::CaseOnly { .. } => "case-only",
            Self::Index => "index",
        }
    }
}
