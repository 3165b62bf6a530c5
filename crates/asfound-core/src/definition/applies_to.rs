//! Which modules a definition is for.

use super::{Pattern, SoftwareRange};
use crate::document::TextPosition;
use crate::identity::Identity;
use crate::names::ModuleName;
use crate::sameness::identity_key;

/// Which modules a definition is for: one role, and conditions on what a module of that role says about itself.
#[derive(Debug, Clone)]
pub struct AppliesTo {
    pub(super) module: ModuleName,
    pub(super) part_number: Vec<Pattern>,
    pub(super) hardware: Vec<Pattern>,
    pub(super) software: Option<SoftwareRange>,
    pub(super) place: TextPosition,
}

impl AppliesTo {
    /// The module's role.
    pub fn module(&self) -> &ModuleName {
        &self.module
    }

    /// The part numbers, any one of which fits; empty: every part number, also an unknown one.
    pub fn part_number(&self) -> &[Pattern] {
        &self.part_number
    }

    /// The hardware versions, likewise.
    pub fn hardware(&self) -> &[Pattern] {
        &self.hardware
    }

    /// The software versions; nothing: every one, also an unknown one.
    pub fn software(&self) -> Option<&SoftwareRange> {
        self.software.as_ref()
    }

    /// Whether a module is one of those that are meant.
    ///
    /// A condition that is absent fits everything; one that is present does not fit a module whose value is unknown.
    pub fn fits(&self, module: &ModuleName, identity: &Identity) -> bool {
        let any = |patterns: &[Pattern], value: &Option<String>| {
            patterns.is_empty()
                || value.as_deref().is_some_and(|value| patterns.iter().any(|pattern| pattern.fits(value)))
        };
        self.module == *module
            && any(&self.part_number, &identity.part_number)
            && any(&self.hardware, &identity.hardware)
            && self
                .software
                .as_ref()
                .is_none_or(|range| identity.software.as_deref().is_some_and(|software| range.contains(software)))
    }

    /// Whether both ask for exactly the same, so that every module that fits one fits the other.
    pub(super) fn is_same(&self, other: &Self) -> bool {
        let sorted = |patterns: &[Pattern]| {
            let mut patterns: Vec<String> = patterns.iter().map(|pattern| identity_key(pattern.as_str())).collect();
            patterns.sort();
            patterns.dedup();
            patterns
        };
        self.module == other.module
            && self.software == other.software
            && sorted(&self.part_number) == sorted(&other.part_number)
            && sorted(&self.hardware) == sorted(&other.hardware)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn module(name: &str) -> ModuleName {
        name.parse().unwrap()
    }

    #[allow(clippy::unnecessary_wraps)] // what an identity holds
    fn text(text: &str) -> Option<String> {
        Some(text.to_owned())
    }

    #[test]
    fn what_is_asked_for_must_be_known_and_fit() {
        let applies = AppliesTo {
            module: module("body"),
            part_number: vec!["7M0-95*".parse().unwrap(), "7M1-*".parse().unwrap()],
            hardware: vec!["H1?".parse().unwrap()],
            software: Some(SoftwareRange { from: text("0100"), below: text("0300"), up_to: None }),
            place: TextPosition::START,
        };
        let good = Identity { part_number: text("7M1-1"), hardware: text("H12"), software: text("0200"), serial: None };
        assert!(applies.fits(&module("body"), &good));
        assert!(!applies.fits(&module("cluster"), &good));
        for bad in [
            Identity { part_number: text("8M0"), ..good.clone() },
            Identity { part_number: None, ..good.clone() },
            Identity { hardware: None, ..good.clone() },
            Identity { software: None, ..good.clone() },
            Identity { software: text("0300"), ..good.clone() },
        ] {
            assert!(!applies.fits(&module("body"), &bad), "{bad:?}");
        }
    }

    #[test]
    fn what_is_not_asked_for_may_be_unknown() {
        let applies = AppliesTo {
            module: module("body"),
            part_number: Vec::new(),
            hardware: Vec::new(),
            software: None,
            place: TextPosition::START,
        };
        assert!(applies.fits(&module("body"), &Identity::default()));
        assert!(applies.is_same(&AppliesTo { place: TextPosition { line: 7, column: 1 }, ..applies.clone() }));
    }
}
