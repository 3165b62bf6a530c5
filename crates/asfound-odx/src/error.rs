//! What can be wrong with a document or a package.

use std::fmt;
use std::sync::Arc;

use thiserror::Error;

/// Where something stands: the document, the line, and the identifier of the object, where it has one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The document's file name, as in its package.
    pub document: Arc<str>,
    /// The line, counted from 1.
    pub line: u32,
    /// The identifier (`ID`) of the object.
    pub id: Option<Box<str>>,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, line {}", self.document, self.line)?;
        match &self.id {
            Some(id) => write!(f, ", object `{}`", shown(id)),
            None => Ok(()),
        }
    }
}

/// Why a document or a package cannot be read, or a layer cannot be taken over.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum OdxError {
    /// The file cannot be read.
    #[error("{document} cannot be read: {why}")]
    Unreadable {
        /// The file.
        document: Arc<str>,
        /// What the system said.
        why: String,
    },
    /// A package that is no ZIP archive, or one that is damaged.
    #[error("{document} is not a whole ZIP archive: {why}")]
    Archive {
        /// The package, or the file in it.
        document: Arc<str>,
        /// What is wrong with it.
        why: String,
    },
    /// Neither ODX nor a package.
    #[error("{document} is not an ODX document: its first element is `{found}`, not `ODX`")]
    NotOdx {
        /// The file.
        document: Arc<str>,
        /// The first element.
        found: String,
    },
    /// A file without any element.
    #[error("{document} is not an ODX document: it is empty, or not XML")]
    Empty {
        /// The file.
        document: Arc<str>,
    },
    /// A package without any document with diagnostic layers.
    #[error("{document} has no diagnostic layers in it")]
    NoLayers {
        /// The file.
        document: Arc<str>,
    },
    /// Something that is larger than is taken in.
    #[error("{document}: {what} is larger than {limit}")]
    TooLarge {
        /// The file.
        document: Arc<str>,
        /// What is too large.
        what: &'static str,
        /// What is allowed, with its unit.
        limit: String,
    },
    /// Bytes that are not of the encoding that the document says it has.
    #[error("{place}: the text is not {encoding}")]
    Encoding {
        /// Where.
        place: Place,
        /// The encoding.
        encoding: String,
    },
    /// Malformed XML.
    #[error("{place}: {why}")]
    Xml {
        /// Where.
        place: Place,
        /// What is wrong.
        why: String,
    },
    /// An object that the schema would refuse.
    #[error("{place}: {what}")]
    Object {
        /// Where.
        place: Place,
        /// What is wrong with it.
        what: String,
    },
    /// A reference to something that is nowhere.
    #[error("{place}: {reference} refers to nothing in these documents")]
    Unresolved {
        /// Where the reference stands.
        place: Place,
        /// The reference, as in ``PARENT-REF `BV.Wren` ``.
        reference: String,
    },
    /// Layers that inherit from themselves.
    #[error("{place}: the layers inherit from each other in a circle: {}", .layers.join(" -> "))]
    Cycle {
        /// Where the first of them stands.
        place: Place,
        /// Their short names, the first one again at the end.
        layers: Vec<String>,
    },
    /// A layer that is not there.
    #[error("there is no layer `{name}`")]
    NoLayer {
        /// The name that was given.
        name: String,
        /// The nearest name that is there.
        near: Option<String>,
    },
}

impl OdxError {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Archive { .. } => Some("fetch the package again; it may have been cut off".to_owned()),
            Self::TooLarge { .. } => Some("take the documents out of the package and give them one by one".to_owned()),
            Self::NoLayer { near: Some(near), .. } => Some(format!("did you mean `{near}`?")),
            Self::NoLayer { near: None, .. } => Some("leave `--layer` out to list what is there".to_owned()),
            Self::Unresolved { .. } => Some("give the package that holds all documents".to_owned()),
            _ => None,
        }
    }
}

/// Text of a document, short and without control characters.
pub(crate) fn shown(text: &str) -> String {
    let mut short: String = text.chars().take(80).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().nth(80).is_some() {
        short.push('…');
    }
    short
}
