//! What is taken in at most, so that a hostile package cannot fill memory or time.

/// Bounds on what is read. The defaults are far above any package known to be in use (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Files in a package.
    pub files: usize,
    /// Bytes of one document, unpacked.
    pub document: u64,
    /// Bytes of all documents, unpacked.
    pub total: u64,
    /// How many times larger than packed a document may be, beyond the first 16 MiB.
    pub ratio: u64,
    /// Bytes of one tag or one run of text.
    pub token: usize,
    /// Elements within each other.
    pub depth: usize,
    /// Elements of one object, such as a service or a structure.
    pub object: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            files: 20_000,
            document: 4 << 30,
            total: 16 << 30,
            ratio: 200,
            token: 4 << 20,
            depth: 64,
            object: 2_000_000,
        }
    }
}
