//! A package or a document, read into a database.

use std::fs::File;
use std::io::{BufReader, Cursor, Read, Seek};
use std::path::Path;
use std::sync::Arc;

use zip::ZipArchive;

use crate::build::read_document;
use crate::error::{OdxError, shown};
use crate::input::{TextSource, Xml};
use crate::limits::Limits;
use crate::model::Database;

/// What a document may be unpacked to whatever its packed size.
const SMALL: u64 = 16 << 20;

/// How far the reading is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadProgress {
    /// The document that is read next.
    pub document: Arc<str>,
    /// Documents that were read.
    pub done: usize,
    /// Documents in all.
    pub of: usize,
}

/// A package (`.pdx`) or a single document (`.odx`, `.odx-d`), read.
#[derive(Debug, Clone)]
pub struct Package {
    pub(crate) database: Database,
}

impl Package {
    /// Reads a file; `progress` is told before each document.
    ///
    /// # Errors
    /// When the file is neither a package nor a document, is damaged, or is larger than `limits` allow.
    pub fn open(path: &Path, limits: Limits, progress: &mut dyn FnMut(&ReadProgress)) -> Result<Self, OdxError> {
        let name: Arc<str> = path
            .file_name()
            .map_or_else(|| Arc::from(path.display().to_string()), |name| Arc::from(name.to_string_lossy().as_ref()));
        let unreadable =
            |error: std::io::Error| OdxError::Unreadable { document: Arc::clone(&name), why: error.to_string() };
        let file = File::open(path).map_err(unreadable)?;
        let length = file.metadata().map_err(unreadable)?.len();
        read(BufReader::new(file), length, &name, limits, progress)
    }

    /// Reads bytes that are a package or a document; `name` stands for it in messages.
    ///
    /// # Errors
    /// As for [`Package::open`].
    pub fn from_bytes(bytes: &[u8], name: &str, limits: Limits) -> Result<Self, OdxError> {
        read(Cursor::new(bytes), bytes.len() as u64, &Arc::from(name), limits, &mut |_| {})
    }

    /// Objects that could not be read: what refers to them is not taken over.
    pub fn problems(&self) -> &[OdxError] {
        &self.database.problems
    }
}

fn read(
    mut file: impl Read + Seek,
    length: u64,
    name: &Arc<str>,
    limits: Limits,
    progress: &mut dyn FnMut(&ReadProgress),
) -> Result<Package, OdxError> {
    let unreadable =
        |error: &std::io::Error| OdxError::Unreadable { document: Arc::clone(name), why: error.to_string() };
    let mut start = Vec::new();
    (&mut file).take(4).read_to_end(&mut start).map_err(|error| unreadable(&error))?;
    file.rewind().map_err(|error| unreadable(&error))?;
    let mut database = Database::default();
    // Every ZIP archive with a file in it begins with a local header or a spanning mark (APPNOTE 4.3.7, 8.5.3).
    if start.starts_with(b"PK") {
        archive(file, name, limits, progress, &mut database)?;
    } else {
        progress(&ReadProgress { document: Arc::clone(name), done: 0, of: 1 });
        let source = TextSource::new(Box::new(file), limits.document.min(length.max(1)), limits.token);
        read_document(&mut Xml::new(Arc::clone(name), source, limits), &mut database)?;
    }
    if database.layers.is_empty() {
        return Err(OdxError::NoLayers { document: Arc::clone(name) });
    }
    Ok(Package { database })
}

fn archive(
    file: impl Read + Seek,
    name: &Arc<str>,
    limits: Limits,
    progress: &mut dyn FnMut(&ReadProgress),
    into: &mut Database,
) -> Result<(), OdxError> {
    let damaged = |document: &Arc<str>, error: &dyn std::fmt::Display| OdxError::Archive {
        document: Arc::clone(document),
        why: shown(&error.to_string()),
    };
    let mut archive = ZipArchive::new(file).map_err(|error| damaged(name, &error))?;
    if archive.len() > limits.files {
        let limit = format!("{} files", limits.files);
        return Err(OdxError::TooLarge { document: Arc::clone(name), what: "the package", limit });
    }
    let mut wanted = Vec::new();
    for at in 0..archive.len() {
        let file = archive.by_index(at).map_err(|error| damaged(name, &error))?;
        let inside = file.name().map_err(|error| damaged(name, &error))?.into_owned();
        if is_document(&inside) {
            wanted.push((at, Arc::<str>::from(shown(&inside)), file.compressed_size()));
        }
    }
    let (of, mut left) = (wanted.len(), limits.total);
    for (done, (at, inside, packed)) in wanted.into_iter().enumerate() {
        progress(&ReadProgress { document: Arc::clone(&inside), done, of });
        let file = archive.by_index(at).map_err(|error| damaged(&inside, &error))?;
        let most = limits.document.min(packed.saturating_mul(limits.ratio).max(SMALL)).min(left);
        let mut unpacked = 0;
        let counted = Counted { inner: file, count: &mut unpacked };
        let source = TextSource::new(Box::new(counted), most, limits.token);
        let read = read_document(&mut Xml::new(Arc::clone(&inside), source, limits), into);
        read.map_err(|error| match error {
            // What the archive itself finds wrong while it is unpacked, such as a checksum.
            OdxError::Unreadable { document, why } => OdxError::Archive { document, why },
            other => other,
        })?;
        left = left.saturating_sub(unpacked);
    }
    Ok(())
}

/// Whether a file of a package is a document with diagnostic layers: `.odx` or `.odx-d` (ISO 22901-1).
fn is_document(name: &str) -> bool {
    let ending = name.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase());
    matches!(ending.as_deref(), Some("odx" | "odx-d"))
}

struct Counted<'c, R> {
    inner: R,
    count: &'c mut u64,
}

impl<R: Read> Read for Counted<'_, R> {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        let count = self.inner.read(to)?;
        *self.count += count as u64;
        Ok(count)
    }
}
