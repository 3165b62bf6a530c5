//! Chosen files of chosen entries, with proof that they belong to a seal, and nothing of the others.
//!
//! A [`Disclosure`] is one file. Of each entry it holds the files that were [picked](DisclosureRequest), each with the blind of its
//! manifest line, the hashes of all lines, and the path from the entry's leaf to the root of the seal. The
//! hashes of files that are not shown are blinded, so that they give away neither contents nor names, not even to
//! somebody who could guess them. [`Disclosure::check`] needs nothing but the file, and the seal that somebody kept.
//! `docs/seal.md` describes the format.

mod check;
mod decoded;
mod draw_up;
mod file;
mod parse;
mod pick;
mod settings;

pub use check::DisclosureFinding;
pub use draw_up::{DiscloseError, disclose};
pub use file::{DISCLOSURE_FORMAT, DisclosedEntry, DisclosedFile, Disclosure};
pub use parse::DisclosureError;
pub use pick::{DisclosureRequest, ModuleChoice};
pub use settings::DisclosedSetting;
