//! Trouble codes, from reading files and tables to what the screens say of them.

mod descriptions;
mod readings;
mod suspects;
mod trials;
