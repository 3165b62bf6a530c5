//! The documents of a file, read once or several times.

use std::io::{Read, Seek};
use std::ops::Range;
use std::sync::Arc;

use zip::ZipArchive;

use crate::build::{Depth, Pass, read_document};
use crate::error::{OdxError, shown};
use crate::input::{TextSource, Xml};
use crate::limits::Limits;
use crate::model::{Database, LayerKind};

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

/// What a document may be unpacked to whatever its packed size.
const SMALL: u64 = 16 << 20;

/// Which documents and layers a file of a package has, as the first pass found them.
#[derive(Debug, Clone)]
struct Extent {
    documents: Range<usize>,
    layers: Range<usize>,
}

/// A file with documents.
pub(crate) struct Documents<R> {
    file: R,
    length: u64,
    name: Arc<str>,
    limits: Limits,
    /// By file of the package; empty before the first pass.
    extents: Vec<Extent>,
}

/// What a pass reads of a layer, and what happens after it.
pub(crate) struct Visit<'v, E> {
    pub(crate) depth: &'v dyn Fn(usize, LayerKind) -> Depth,
    pub(crate) after: &'v mut dyn FnMut(&mut Database, usize) -> Result<(), E>,
}

impl<R: Read + Seek> Documents<R> {
    pub(crate) fn new(file: R, length: u64, name: Arc<str>, limits: Limits) -> Self {
        Self { file, length, name, limits, extents: Vec::new() }
    }

    pub(crate) fn name(&self) -> &Arc<str> {
        &self.name
    }

    /// Goes through the documents. The first time all of them are read, after that those with a layer that is wanted.
    pub(crate) fn read<E: From<OdxError>>(
        &mut self,
        into: &mut Database,
        visit: &mut Visit<'_, E>,
        progress: &mut dyn FnMut(&ReadProgress),
    ) -> Result<(), E> {
        let adds = self.extents.is_empty();
        let mut pass = Pass { depth: visit.depth, after: visit.after, adds, document: 0, layer: 0 };
        let unreadable =
            |error: std::io::Error| OdxError::Unreadable { document: Arc::clone(&self.name), why: error.to_string() };
        let mut start = Vec::new();
        self.file.rewind().map_err(unreadable)?;
        (&mut self.file).take(4).read_to_end(&mut start).map_err(unreadable)?;
        self.file.rewind().map_err(unreadable)?;
        // Every ZIP archive with a file in it begins with a local header or a spanning mark (APPNOTE 4.3.7, 8.5.3).
        if start.starts_with(b"PK") {
            return self.archive(into, &mut pass, progress);
        }
        progress(&ReadProgress { document: Arc::clone(&self.name), done: 0, of: 1 });
        let most = self.limits.document.min(self.length.max(1));
        let source = TextSource::new(Box::new(&mut self.file), most, self.limits.token);
        read_document(&mut Xml::new(Arc::clone(&self.name), source, self.limits), into, &mut pass)?;
        self.extents = vec![Extent { documents: 0..pass.document, layers: 0..pass.layer }];
        Ok(())
    }

    fn archive<E: From<OdxError>>(
        &mut self,
        into: &mut Database,
        pass: &mut Pass<'_, E>,
        progress: &mut dyn FnMut(&ReadProgress),
    ) -> Result<(), E> {
        let (name, limits) = (&self.name, self.limits);
        let damaged = |document: &Arc<str>, error: &dyn std::fmt::Display| OdxError::Archive {
            document: Arc::clone(document),
            why: shown(&error.to_string()),
        };
        let mut archive = ZipArchive::new(&mut self.file).map_err(|error| damaged(name, &error))?;
        if archive.len() > limits.files {
            let limit = format!("{} files", limits.files);
            return Err(OdxError::TooLarge { document: Arc::clone(name), what: "the package", limit }.into());
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
        let mut extents = Vec::with_capacity(of);
        for (done, (at, inside, packed)) in wanted.into_iter().enumerate() {
            if let Some(extent) = self.extents.get(done) {
                (pass.document, pass.layer) = (extent.documents.start, extent.layers.start);
                let needed = |layer: usize| {
                    into.layers.get(layer).is_some_and(|known| (pass.depth)(layer, known.kind) != Depth::Nothing)
                };
                if !extent.layers.clone().any(needed) {
                    continue;
                }
            }
            progress(&ReadProgress { document: Arc::clone(&inside), done, of });
            let (documents, layers) = (pass.document, pass.layer);
            let file = archive.by_index(at).map_err(|error| damaged(&inside, &error))?;
            let most = limits.document.min(packed.saturating_mul(limits.ratio).max(SMALL)).min(left);
            let mut unpacked = 0;
            let counted = Counted { inner: file, count: &mut unpacked };
            let source = TextSource::new(Box::new(counted), most, limits.token);
            read_document(&mut Xml::new(Arc::clone(&inside), source, limits).packed(), into, pass)?;
            left = left.saturating_sub(unpacked);
            extents.push(Extent { documents: documents..pass.document, layers: layers..pass.layer });
        }
        if self.extents.is_empty() {
            self.extents = extents;
        }
        Ok(())
    }
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
