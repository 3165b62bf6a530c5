//! References between objects.

use crate::error::shown;

/// What a document reference names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DocType {
    /// A container, which is a document.
    Container,
    /// A layer within one.
    Layer,
}

/// What a reference names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Target {
    /// An object by its identifier (`ID-REF`), with the document where it is another one (`DOCREF`).
    Id { id: Box<str>, document: Option<(Box<str>, DocType)> },
    /// An object by its short name (`…-SNREF`), found in the layer that is looked at.
    ShortName(Box<str>),
}

/// A reference to another object.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Reference {
    pub(crate) target: Target,
    pub(crate) line: u32,
}

impl Reference {
    /// As it is written, for messages.
    pub(crate) fn shown(&self) -> String {
        match &self.target {
            Target::Id { id, document: None } => format!("`{}`", shown(id)),
            Target::Id { id, document: Some((document, _)) } => format!("`{}` of `{}`", shown(id), shown(document)),
            Target::ShortName(name) => format!("the short name `{}`", shown(name)),
        }
    }
}
