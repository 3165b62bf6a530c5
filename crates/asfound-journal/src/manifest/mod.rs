//! The manifest of an entry: the SHA-256 of each of its files, as `sha256sum` writes them.
//!
//! One line a file, `<64 hexadecimal digits>  <path>`, sorted by the bytes of the path,
//! every line ended by a line feed. The file `manifest` itself is not listed. Because there
//! is exactly one such text for a set of files, it can stand for them in the Merkle
//! tree, and `sha256sum -c manifest` checks a checked-out entry without this program.

mod lines;
mod parse;

pub use lines::Manifest;
pub use parse::ManifestError;

/// The path of the manifest within an entry.
pub const MANIFEST_PATH: &str = "manifest";
