//! Saved plans and walks through them, from the command line to the files in the garage.

mod plans;
mod untied;
mod walks;
