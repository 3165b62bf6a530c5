//! A reading that the program takes itself.

mod address;
mod args;
mod connect;
mod interrupt;
mod named_module;
mod reading;
mod told;

pub use args::LinkArgs;
pub use reading::LiveReading;
