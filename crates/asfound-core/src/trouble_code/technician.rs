//! Codes of systems that can hurt: a technician looks first.

use std::collections::BTreeSet;

use super::TroubleCode;
use crate::names::ModuleName;
use crate::safety::{SafetyTag, role_tags};

/// The systems whose codes a qualified technician should look at before anything is tried.
const WITH_CARE: [SafetyTag; 4] =
    [SafetyTag::Braking, SafetyTag::Steering, SafetyTag::Restraint, SafetyTag::HighVoltage];

/// The restraint, braking, steering and high-voltage systems that a code may be about: by the role of the module that
/// reports it, by `systems`, which its definition names, and by the form of the code itself.
///
/// By its form a chassis code may be about brakes or steering, a body code of the range B00 about restraints, and a
/// powertrain code of the ranges P0A to P0C about high voltage (structure of SAE J2012, from memory). It is better to
/// warn once too often.
pub fn technician_first(code: &TroubleCode, module: &ModuleName, systems: &[SafetyTag]) -> BTreeSet<SafetyTag> {
    let by_form: &[SafetyTag] = match code.base().map(|base| (base >> 14, base >> 8)) {
        Some((1, _)) => &[SafetyTag::Braking, SafetyTag::Steering],
        Some((_, 0x80)) => &[SafetyTag::Restraint],
        Some((_, 0x0A..=0x0C)) => &[SafetyTag::HighVoltage],
        _ => &[],
    };
    let told = systems.iter().copied().chain(role_tags(module)).filter(|tag| WITH_CARE.contains(tag));
    told.chain(by_form.iter().copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn form_role_and_definition_each_call_for_care() {
        let tags = |code: &str, module: &str, systems: &[SafetyTag]| {
            let tags = technician_first(&code.parse().unwrap(), &module.parse().unwrap(), systems);
            tags.iter().map(|tag| tag.as_str()).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(tags("C0035", "brakes", &[]), "steering braking");
        assert_eq!(tags("17158", "brakes", &[]), "braking");
        assert_eq!(tags("B0012-1A", "seat", &[]), "restraint");
        assert_eq!(tags("P0A80", "drive", &[]), "high-voltage");
        assert_eq!(tags("B16A1", "doors", &[SafetyTag::Restraint, SafetyTag::Comfort]), "restraint");
        assert_eq!(tags("B16A1", "body", &[SafetyTag::Lighting, SafetyTag::Immobiliser]), "");
        assert_eq!(tags("U0064", "gateway", &[]), "");
    }
}
