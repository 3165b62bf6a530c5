//! In what two identities differ.

use crate::definition::Identity;

/// A part of a module's identity that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IdentityDifference {
    /// `part number`, `hardware`, `software` or `serial`.
    pub what: &'static str,
    /// As found.
    pub found: String,
    /// As left.
    pub left: String,
}

/// The parts that both sides know and give differently.
pub fn identity_differences(found: &Identity, left: &Identity) -> Vec<IdentityDifference> {
    let parts = [
        ("part number", &found.part_number, &left.part_number),
        ("hardware", &found.hardware, &left.hardware),
        ("software", &found.software, &left.software),
        ("serial", &found.serial, &left.serial),
    ];
    let both = parts.into_iter().filter_map(|(what, found, left)| Some((what, found.as_ref()?, left.as_ref()?)));
    both.filter(|(_, found, left)| found != left)
        .map(|(what, found, left)| IdentityDifference { what, found: found.clone(), left: left.clone() })
        .collect()
}
