//! The command line of asfound: arguments, prompts, screens, exit codes.
//!
//! [`run`] is the whole program as a function of its arguments and surroundings; the binary hands it
//! the real ones, the demonstration and the tests others.

mod arguments;
mod cli;
mod commands;
mod demo;
mod exit;
mod failure;
mod filing;
mod followed;
mod hearing;
mod intake;
mod live;
mod log_clock;
mod look;
mod new_file;
mod previewing;
mod printing;
mod progress;
mod run;
mod saving;
mod screens;
mod setup;
mod sharing;
mod taking;
mod walking;
mod wanted;
mod witness_logs;
mod working;

pub use cli::Cli;
pub use exit::Exit;
pub use run::{complete, run};
pub use setup::{Environment, Zone};
