//! Walks of saved plans that are kept in the garage, so that a killed one goes on where it was.

mod open;

pub use open::{OpenRun, open};
