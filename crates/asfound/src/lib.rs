//! The command line of asfound: arguments, prompts, screens, exit codes.
//!
//! [`run`] is the whole program as a function of its arguments and surroundings; the binary hands it
//! the real ones, the demonstration and the tests others.

mod apply_plan;
mod arguments;
mod bounded_file;
mod bulk_import;
mod bus_log;
mod cli;
mod commands;
mod demo;
mod exit;
mod failure;
mod filing;
mod followed_sheet;
mod guided_run;
mod live;
mod log_clock;
mod log_files;
mod log_hint;
mod lookup;
mod new_file;
mod parse_targets;
mod plan_file;
mod plan_preview;
mod planning;
mod printing;
mod progress;
mod reading_input;
mod run;
mod screens;
mod setup;
mod sharing;

pub use cli::Cli;
pub use exit::Exit;
pub use run::{complete, run};
pub use setup::{Environment, Zone};
