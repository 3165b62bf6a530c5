//! Garages and places that come from somebody else, made to harm whoever looks into them.
#![cfg(unix)]

mod kept_lines;
mod limits;
mod links;
mod owner;
mod places;
mod programs;
mod set_back;
mod support;
mod texts;
mod unwritten;
