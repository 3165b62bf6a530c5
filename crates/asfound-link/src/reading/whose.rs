//! Whether it is the car that the journal is about.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::examination::{VIN_RECORD, text_of_record};
use asfound_core::names::{ModuleName, RecordName, Vin};
use asfound_core::state::State;
use asfound_wire::conversation::ModuleAddress;

use super::survey::ModuleAnswers;

/// Whether it is the car that the journal is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum VinVerdict {
    /// It says so; these modules tell another VIN, as a module from another car does.
    Same {
        /// Who tells which other VIN.
        others: Vec<(ModuleAddress, Vin)>,
    },
    /// It tells other VINs only.
    Another(BTreeSet<Vin>),
    /// The journal knows no VIN, and the car tells this one.
    New(Vin),
    /// The journal knows no VIN, and the car tells several.
    Several(BTreeSet<Vin>),
    /// The car tells none.
    NotTold,
}

/// The VINs that the journal knows: the vehicle's; where it has none, those that modules told before.
pub fn known_vins(state: &State) -> BTreeSet<Vin> {
    if let Some(vin) = state.vehicle.as_ref().and_then(|vehicle| vehicle.vin.clone()) {
        return BTreeSet::from([vin]);
    }
    let record = RecordName::Identifier(VIN_RECORD);
    let told = |name: &ModuleName| vin_of(state.record(name, &record)?.bytes.as_slice());
    state.modules.keys().filter_map(told).collect()
}

/// The VIN that each module tells.
pub fn vins_told<'a>(
    modules: impl Iterator<Item = (ModuleAddress, &'a ModuleAnswers)>,
) -> BTreeMap<ModuleAddress, Vin> {
    modules.filter_map(|(address, answers)| Some((address, vin_of(answers.record(VIN_RECORD)?)?))).collect()
}

/// The VIN in a record.
pub(crate) fn vin_of(bytes: &[u8]) -> Option<Vin> {
    text_of_record(bytes)?.parse().ok()
}

/// Holds what the car tells against what the journal knows. `announced` is what the gateway told before a connection was made.
pub fn judge_vin(known: &BTreeSet<Vin>, told: &BTreeMap<ModuleAddress, Vin>, announced: Option<&Vin>) -> VinVerdict {
    let all: BTreeSet<&Vin> = told.values().chain(announced).collect();
    if all.is_empty() {
        return VinVerdict::NotTold;
    }
    if known.is_empty() {
        let mut all = all.into_iter().cloned();
        return match (all.next(), all.next()) {
            (Some(vin), None) => VinVerdict::New(vin),
            (first, second) => VinVerdict::Several(first.into_iter().chain(second).chain(all).collect()),
        };
    }
    if !all.iter().any(|vin| known.contains(*vin)) || announced.is_some_and(|vin| !known.contains(vin)) {
        return VinVerdict::Another(all.into_iter().filter(|vin| !known.contains(*vin)).cloned().collect());
    }
    let others = told.iter().filter(|(_, vin)| !known.contains(*vin));
    VinVerdict::Same { others: others.map(|(address, vin)| (*address, vin.clone())).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_car_is_known_by_what_it_tells() {
        // Invented vehicles of the demonstration, and the example of 49 CFR 565.
        let [wren, plover, third]: [Vin; 3] =
            ["G0MSR41E0LT004217", "G0MWY41DXJT001186", "1M8GDM9AXKP042788"].map(|vin| vin.parse().unwrap());
        let module = ModuleAddress::Ip;
        let known = BTreeSet::from([wren.clone()]);
        let told = |all: &[(u16, &Vin)]| all.iter().map(|(at, vin)| (module(*at), (*vin).clone())).collect();
        let same = |others| VinVerdict::Same { others };
        assert_eq!(judge_vin(&known, &told(&[(1, &wren)]), None), same(Vec::new()));
        assert_eq!(judge_vin(&known, &told(&[]), Some(&wren)), same(Vec::new()));
        let used_part = same(vec![(module(2), plover.clone())]);
        assert_eq!(judge_vin(&known, &told(&[(1, &wren), (2, &plover)]), None), used_part);
        let another = VinVerdict::Another(BTreeSet::from([plover.clone()]));
        assert_eq!(judge_vin(&known, &told(&[(1, &plover)]), None), another);
        // A gateway that speaks for the whole car outweighs one module.
        assert_eq!(judge_vin(&known, &told(&[(1, &wren)]), Some(&plover)), another);
        assert_eq!(judge_vin(&known, &told(&[]), None), VinVerdict::NotTold);
        let none = BTreeSet::new();
        assert_eq!(judge_vin(&none, &told(&[(1, &wren), (2, &wren)]), None), VinVerdict::New(wren.clone()));
        let several = VinVerdict::Several(BTreeSet::from([wren.clone(), plover.clone(), third.clone()]));
        assert_eq!(judge_vin(&none, &told(&[(1, &wren), (2, &plover), (3, &third)]), None), several);
        assert_eq!(vin_of(b"G0MSR41E0LT004217\0\0"), Some(wren));
        assert_eq!(vin_of(&[0xFF; 17]), None);
    }
}
