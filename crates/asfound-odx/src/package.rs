//! A package or a document, read into a database.

use std::fs::File;
use std::io::{BufReader, Cursor, Read, Seek};
use std::path::Path;
use std::sync::Arc;

use crate::build::Depth;
use crate::error::OdxError;
use crate::limits::Limits;
use crate::model::Database;
use crate::source::{Documents, ReadProgress, Visit};

/// A package (`.pdx`) or a single document (`.odx`, `.odx-d`), read.
#[derive(Debug, Clone)]
pub struct Package {
    pub(crate) database: Database,
}

impl Package {
    /// Reads all of a file; `progress` is told before each document.
    ///
    /// # Errors
    /// When the file is neither a package nor a document, is damaged, or is larger than `limits` allow.
    pub fn open(path: &Path, limits: Limits, progress: &mut dyn FnMut(&ReadProgress)) -> Result<Self, OdxError> {
        Self::read(open(path, limits)?, Depth::Whole, progress)
    }

    /// Reads what layers there are and what they inherit from.
    ///
    /// # Errors
    /// As for [`Package::open`].
    pub fn outline(path: &Path, limits: Limits, progress: &mut dyn FnMut(&ReadProgress)) -> Result<Self, OdxError> {
        Self::read(open(path, limits)?, Depth::Outline, progress)
    }

    /// Reads bytes that are a package or a document; `name` stands for it in messages.
    ///
    /// # Errors
    /// As for [`Package::open`].
    pub fn from_bytes(bytes: &[u8], name: &str, limits: Limits) -> Result<Self, OdxError> {
        let documents = Documents::new(Cursor::new(bytes), bytes.len() as u64, Arc::from(name), limits);
        Self::read(documents, Depth::Whole, &mut |_| {})
    }

    fn read<R: Read + Seek>(
        mut documents: Documents<R>,
        depth: Depth,
        progress: &mut dyn FnMut(&ReadProgress),
    ) -> Result<Self, OdxError> {
        let mut database = Database::default();
        let mut visit = Visit { depth: &|_, _| depth, after: &mut |_, _| Ok::<(), OdxError>(()) };
        documents.read(&mut database, &mut visit, progress)?;
        Self::with_layers(database, documents.name())
    }

    pub(crate) fn with_layers(database: Database, name: &Arc<str>) -> Result<Self, OdxError> {
        if database.layers.is_empty() {
            return Err(OdxError::NoLayers { document: Arc::clone(name) });
        }
        Ok(Self { database })
    }

    /// Objects that could not be read: what refers to them is not taken over.
    pub fn problems(&self) -> &[OdxError] {
        &self.database.problems
    }
}

/// The documents of a file.
pub(crate) fn open(path: &Path, limits: Limits) -> Result<Documents<BufReader<File>>, OdxError> {
    let name: Arc<str> = path
        .file_name()
        .map_or_else(|| Arc::from(path.display().to_string()), |name| Arc::from(name.to_string_lossy().as_ref()));
    let unreadable =
        |error: std::io::Error| OdxError::Unreadable { document: Arc::clone(&name), why: error.to_string() };
    let file = File::open(path).map_err(unreadable)?;
    let length = file.metadata().map_err(unreadable)?.len();
    Ok(Documents::new(BufReader::new(file), length, name, limits))
}
