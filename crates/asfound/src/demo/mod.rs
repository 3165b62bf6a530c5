//! The demonstration: a story on an invented car, played with the program's own commands.

mod files;
mod play;
mod story;

pub use play::{RunCommand, play};
