//! Many readings from a folder or a stream.

mod source;
mod whose;

pub use source::{Found, Sources};
pub use whose::Owners;
