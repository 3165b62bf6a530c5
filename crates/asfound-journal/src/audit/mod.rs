//! Verifies a journal entry by entry, against nothing but itself.
//!
//! [`audit`] walks one vehicle's line from its first entry to its last and holds each entry against what the
//! format (`docs/format.md`) says must be so: its objects, its manifest, its place in the chain, its commit, and
//! whether what it says is known of the vehicle is what the entries up to it give. Nothing that is found stops it; what is
//! found comes back as data, a [`Finding`] each, together with the last entry up to which everything holds.
//!
//! What a journal cannot show by itself is what was never in it, or what was rewritten from some entry to the very last one.
//! Only somebody who kept a seal can show that; see `docs/proof.md`.
//!
//! `line` finds the commits; `reader`, in several `threads` and already `ahead` of the walk's end, reads what each has otherwise
//! than the one before; `entry` then
//! goes through them in order and calls every check. One file holds one kind of check: `agreement` the commit against the
//! entry in it, `files` the tree against the manifest, `chained` the chain, `fold`, `pinned` and `derived` what follows from
//! the entries, `order` their times, `signed` their signatures; the index beside them is held against them in passing; `kept` holds it all against seals, `kept_lines` against the lines in which entries stood before. A check of another kind is a file of its own with a [`FindingKind`] of its own.

mod acknowledged;
mod agreement;
mod chain_state;
mod commit_line;
mod commit_text;
mod derived;
mod entry;
mod fault;
mod files;
mod finding;
mod fold;
mod kept_seals;
mod kind;
mod outcome;
mod pinned;
mod read_ahead;
mod reader;
mod recording_times;
mod run;
mod signed;
mod superseded_lines;
mod threads;

pub use fault::{ChainFault, CodesFault, DefinitionFault, ModuleFault, VehicleFault};
pub use finding::{Finding, FindingLevel};
pub use kept_seals::{DiffersWithin, SealComparison, SealVerdict};
pub use kind::FindingKind;
pub use outcome::Audit;
pub use run::{AuditOptions, Progress, audit};
pub use signed::Signatures;
pub use superseded_lines::SupersededLine;
