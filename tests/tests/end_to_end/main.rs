//! The whole program, from the command line to the files in the garage.
//!
//! Most tests run it in this process; those in `processes` run the binary.

mod bad_changes;
mod bad_readings;
mod bad_tables;
mod corrections;
mod json;
mod put_back;
mod restricted;
mod screens;
mod story;
