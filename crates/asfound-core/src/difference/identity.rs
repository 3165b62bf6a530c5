//! In what two identities differ.

use crate::identity::Identity;
use crate::sameness::{Incomparable, Sameness, compare_identity_texts};

/// A part of a module's identity that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IdentityDifference {
    /// `part number`, `hardware`, `software` or `serial`.
    pub what: &'static str,
    /// As found.
    pub found: String,
    /// As left.
    pub left: String,
    /// Why nobody can tell whether it is another one; nothing where it is.
    pub doubt: Option<Incomparable>,
}

/// The parts that both sides know and that are different, or may be.
pub fn identity_differences(found: &Identity, left: &Identity) -> Vec<IdentityDifference> {
    let parts = [
        ("part number", &found.part_number, &left.part_number),
        ("hardware", &found.hardware, &left.hardware),
        ("software", &found.software, &left.software),
        ("serial", &found.serial, &left.serial),
    ];
    let both = parts.into_iter().filter_map(|(what, found, left)| Some((what, found.as_ref()?, left.as_ref()?)));
    both.filter_map(|(what, found, left)| {
        let doubt = match compare_identity_texts(found, left) {
            Sameness::Same | Sameness::SaidDifferently(_) => return None,
            Sameness::Different => None,
            Sameness::CannotTell(why) => Some(why),
        };
        Some(IdentityDifference { what, found: found.clone(), left: left.clone(), doubt })
    })
    .collect()
}
