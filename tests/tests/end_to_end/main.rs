//! The whole program, from the command line to the files in the garage.
//!
//! Most tests run it in this process; those in `processes` run the binary.

#![allow(clippy::unwrap_used, reason = "in a test that is a failed test, also in its helpers")]

mod bad_changes;
mod bad_corrections;
mod bad_reading_files;
mod bad_readings;
mod bad_tables;
mod changes;
mod corrections;
mod definitions;
mod definitions_from;
mod find;
mod forged_index;
mod garages;
mod json;
mod keys;
mod moments;
mod notes;
mod orders;
mod plain_git;
mod printed;
mod processes;
mod prompts;
mod put_back;
mod restricted;
mod screens;
mod software_update;
mod story;
mod time_zones;
mod wide;

/// The program as a binary of its own.
const BINARY: &str = env!("CARGO_BIN_EXE_asfound-under-test");
