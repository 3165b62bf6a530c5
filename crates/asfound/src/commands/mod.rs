//! One file for each command: its arguments, and a short `run` that hands one value to one screen.

pub mod audit;
pub mod change;
pub mod compare;
pub mod correct;
pub mod definition;
pub mod demo;
pub mod disclose;
pub mod enrol;
pub mod entries;
pub mod entry;
pub mod explain;
pub mod key;
pub mod note;
pub mod plan;
pub mod put_back;
pub mod read;
pub mod return_to;
pub mod seal;
pub mod settings;
pub mod share;
pub mod take_in;
pub mod tidy;
pub mod vehicles;
pub mod work;
