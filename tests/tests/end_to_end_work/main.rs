//! Saved plans and walks through them, from the command line to the files in the garage.

mod in_doubt;
mod plans;
mod sheets;
mod split_writes;
mod walks;
