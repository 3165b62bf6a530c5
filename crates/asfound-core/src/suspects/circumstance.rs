//! One circumstance that may stand behind many codes at once.

use std::collections::BTreeMap;

use crate::entry::ReadingBody;
use crate::names::ModuleName;
use crate::state::State;
use crate::trouble_code::{CodeSystem, ReportedCode, TroubleCode};
use crate::value::Decimal;

/// In how many modules new communication codes point at something that the modules share. A choice of this project;
/// common practice, no source.
pub const MANY_MODULES: usize = 3;

/// The supply voltage below which modules may answer wrongly, in volts (common practice, no source).
const LOW_VOLTS: i128 = 12;

/// Signs that together point at one probable common circumstance: the supply, or what modules talk over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Circumstance {
    /// The supply voltage in volts, where it was low.
    pub low_voltage: Option<Decimal>,
    /// Modules that did not answer.
    pub did_not_answer: Vec<ModuleName>,
    /// New communication codes, by module.
    pub communication: BTreeMap<ModuleName, Vec<TroubleCode>>,
}

/// The common circumstance that a reading points at; nothing where it points at none.
///
/// There are three signs: a supply voltage below 12 V, a module that did not answer, and new communication codes
/// (letter U). Communication codes in [`MANY_MODULES`] modules or more are enough by themselves; otherwise two of the three
/// signs must come together. `before` is the state before the reading: a code that its module had before is not new.
pub fn common_circumstance(before: &State, reading: &ReadingBody) -> Option<Circumstance> {
    circumstance(|module| Some(before.module(module)?.codes.as_ref()?.codes.as_slice()), reading)
}

/// The same, with the codes that each module had before the reading.
pub(super) fn circumstance<'s>(
    before: impl Fn(&ModuleName) -> Option<&'s [ReportedCode]>,
    reading: &ReadingBody,
) -> Option<Circumstance> {
    let low_voltage = reading.supply_voltage.clone().filter(|volts| *volts < Decimal::from(LOW_VOLTS));
    let did_not_answer: Vec<ModuleName> = reading.situation.did_not_answer.iter().cloned().collect();
    let mut communication: BTreeMap<ModuleName, Vec<TroubleCode>> = BTreeMap::new();
    for (module, covered) in &reading.covered {
        let earlier = before(module);
        let known =
            |code: &TroubleCode| earlier.is_some_and(|codes| codes.iter().any(|reported| reported.code == *code));
        for reported in covered.trouble_codes.iter().flatten() {
            if reported.code.system() == Some(CodeSystem::Network) && !known(&reported.code) {
                communication.entry(module.clone()).or_default().push(reported.code.clone());
            }
        }
    }
    let signs = [low_voltage.is_some(), !did_not_answer.is_empty(), !communication.is_empty()];
    let together = signs.iter().filter(|sign| **sign).count() >= 2;
    (together || communication.len() >= MANY_MODULES).then_some(Circumstance {
        low_voltage,
        did_not_answer,
        communication,
    })
}

impl Circumstance {
    /// Whether a code of a module is one of those that the circumstance may account for.
    pub fn accounts_for(&self, module: &ModuleName, code: &TroubleCode) -> bool {
        self.communication.get(module).is_some_and(|codes| codes.contains(code))
    }

    /// The signs in words, one a line.
    pub fn signs(&self) -> Vec<String> {
        let names = |modules: Vec<&ModuleName>| modules.iter().map(|m| m.as_str()).collect::<Vec<_>>().join(", ");
        let mut signs = Vec::new();
        if let Some(volts) = &self.low_voltage {
            signs.push(format!("the supply voltage was {volts} V"));
        }
        if !self.did_not_answer.is_empty() {
            signs.push(format!("no answer from {}", names(self.did_not_answer.iter().collect())));
        }
        if !self.communication.is_empty() {
            signs.push(format!("new communication codes in {}", names(self.communication.keys().collect())));
        }
        signs
    }
}
