//! What a module's name alone says about the care it needs.

use super::SafetyTag;
use crate::names::ModuleName;

/// The restricted tag that a module's role carries even without a definition.
///
/// The words are the trade's names for such modules (common practice, no source).
/// A name counts when any of its parts, divided at `_`, is one of them.
pub fn role_tag(module: &ModuleName) -> Option<SafetyTag> {
    module.as_str().split('_').find_map(|part| match part {
        "restraint" | "restraints" | "airbag" | "airbags" => Some(SafetyTag::Restraint),
        "brake" | "brakes" | "braking" => Some(SafetyTag::Braking),
        "steering" => Some(SafetyTag::Steering),
        "engine" | "transmission" | "gearbox" | "powertrain" => Some(SafetyTag::Powertrain),
        "emissions" | "exhaust" => Some(SafetyTag::Emissions),
        "immobiliser" | "immobilizer" => Some(SafetyTag::Immobiliser),
        "traction" | "inverter" | "charger" => Some(SafetyTag::HighVoltage),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn knows_the_roles_that_can_hurt() {
        assert_eq!(role_tag(&"brakes".parse().unwrap()), Some(SafetyTag::Braking));
        assert_eq!(role_tag(&"park_brake".parse().unwrap()), Some(SafetyTag::Braking));
        assert_eq!(role_tag(&"body".parse().unwrap()), None);
    }
}
