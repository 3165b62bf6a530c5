//! The whole program, from the command line to the files in the garage.
//!
//! Most tests run it in this process; those in `processes` run the binary.

mod screens;
mod story;
