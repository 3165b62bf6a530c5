//! How a part of an entry is wrong.

use asfound_core::names::{DefinitionId, EntryNumber, Tag};
use thiserror::Error;

/// How the chain that an entry states is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ChainFault {
    /// It counts other entries before it than follow from the entry before it.
    #[error("its chain counts {stated} before it, where {counted} would follow")]
    Count {
        /// How many it says.
        stated: u64,
        /// How many follow from the entry before it.
        counted: u64,
    },
    /// Root and peaks do not belong together.
    #[error("its root does not follow from its peaks")]
    Itself,
    /// It was filed after other entries than those that stand before it.
    #[error("it was filed after another entry {before} than the one that stands before it")]
    Earlier {
        /// The entry before it.
        before: EntryNumber,
    },
}

/// How `vehicle.toml` is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum VehicleFault {
    /// It is not of its form.
    #[error("{0}")]
    Form(String),
    /// It is about a vehicle with another tag.
    #[error("`vehicle.toml` is about `{0}`: this is the journal of another vehicle")]
    Other(Tag),
    /// It is another one than in the entry before.
    #[error("`vehicle.toml` was altered after the enrolment")]
    Altered,
}

/// How a module's file is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ModuleFault {
    /// It is not there.
    #[error("is not there, though the entries tell of the module")]
    Lacking,
    /// No entry tells of the module.
    #[error("is about a module that no entry mentions")]
    Unknown,
    /// Its content is another one.
    #[error("does not say what the entries give")]
    Differs,
    /// The definition that it names does not lie beside it.
    #[error("names the definition `{0}`, which does not lie beside it")]
    NoDefinition(DefinitionId),
    /// The definition that it names is for other modules.
    #[error("names the definition `{0}`, which is not for this module")]
    Unfit(DefinitionId),
}

/// How `trouble-codes.toml` is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum CodesFault {
    /// It is not there.
    #[error("is not there, though modules were scanned")]
    Lacking,
    /// No module was scanned.
    #[error("is there, though no module was scanned")]
    Unknown,
    /// Its content is another one.
    #[error("does not say what the entries give")]
    Differs,
}

/// How a pinned definition is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DefinitionFault {
    /// It is not of its form.
    #[error("is not a definition: {0}")]
    Form(String),
    /// It has another name than its file.
    #[error("holds the definition `{0}`")]
    Id(DefinitionId),
}
