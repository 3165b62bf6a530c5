//! Walks of saved plans that are kept in the garage, so that a killed one goes on where it was.

mod file;
mod open;

pub use file::{EventFile, RunFileError};
pub use open::{OpenRun, open};
