//! Many readings from a folder or a stream.

mod source;
mod whose;

pub use source::{FoundReading, Sources};
pub use whose::VehicleLookup;
