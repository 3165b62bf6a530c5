//! Many readings from a folder or a stream.

mod source;

pub use source::{FoundReading, Sources};
