//! A derived index: what is in the journals, in a form that is quick to read.
//!
//! It lies beside the journals, one file a vehicle, and one file for what is remembered of all vehicles. Everything in it
//! follows from the journals, so that it may be deleted at any time. It is believed only where it ends with the tip of
//! the journal and every part of it is whole; else it is brought up to date, and where that cannot be, the journal itself
//! is read. Nothing here makes a command fail.
//!
//! Checksums tell damage and not forgery: whoever can write the file can work them out. So nothing rests on it alone. What an
//! entry is filed on, and bytes to write, are held against the journal first (`journal::basis`), and the audit holds
//! all of it against the journal (`comparison`).
//!
//! A file of our own was chosen over an embedded database because it has to do very little, and to do that where several
//! programs read and write at once, on a disk that may be full or read-only: to add at its end, to read from its
//! beginning, and to tell by a checksum over all that came before how far it can be believed (`frames`).

mod codec;
mod comparison;
mod decode;
mod encode;
mod folder;
mod frames;
mod garage;
#[cfg(test)]
mod tests;
mod vehicle;

pub(crate) use comparison::IndexComparison;
pub(crate) use decode::commit_id;
pub(crate) use encode::id_bytes;
pub use folder::IndexFolder;
pub use garage::VehicleCache;
pub(crate) use vehicle::{IndexEnd, each, extend, index, parts_of};
