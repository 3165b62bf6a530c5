//! Work in an entry that touches a restricted system without anybody's acknowledgement.

use super::care::{restricted_by_name, restricted_systems};
use super::clearance::acknowledged;
use crate::definition::Definition;
use crate::entry::WorkBody;
use crate::names::ModuleName;
use crate::safety::SafetyTag;

/// The restricted systems that filed work alters and that nobody has acknowledged in it. `fitting` gives the definition
/// that fits a module.
pub fn unacknowledged<'d>(work: &WorkBody, fitting: impl Fn(&ModuleName) -> Option<&'d Definition>) -> Vec<SafetyTag> {
    let records = work.effects.records.iter().flat_map(|effect| {
        let definition = fitting(&effect.module);
        restricted_systems(&effect.module, definition, &effect.record, effect.found.as_ref(), &effect.left)
    });
    let stated = work.effects.stated.iter().filter(|effect| effect.left.is_some());
    let stated = stated.flat_map(|effect| restricted_by_name(&effect.module, fitting(&effect.module), &effect.setting));
    let missing = acknowledged(records.chain(stated), &work.acknowledgements);
    missing.err().map(|missing| missing.0).unwrap_or_default()
}
