//! In which situations a trouble code can be believed.

use super::Pattern;
use crate::document::TextPosition;
use crate::names::RuleName;
use crate::situation::{Engine, Ignition, Situation};
use crate::trouble_code::{CodeStatus, ReportedCode};
use crate::value::Decimal;

/// What must have been so while the codes were read for them to be plausible. What a reading does not tell is never
/// held against a code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlausibilityRule {
    pub(super) name: RuleName,
    pub(super) codes: Vec<Pattern>,
    pub(super) status: CodeStatus,
    pub(super) engine: Option<Engine>,
    pub(super) ignition: Option<Ignition>,
    pub(super) least_volts: Option<Decimal>,
    pub(super) most_volts: Option<Decimal>,
    pub(super) because: String,
    pub(super) source: Option<String>,
    pub(super) place: TextPosition,
}

impl PlausibilityRule {
    /// Its name, which no other such rule of the definition has.
    pub fn name(&self) -> &RuleName {
        &self.name
    }

    /// Which codes it is about, by their text.
    pub fn codes(&self) -> &[Pattern] {
        &self.codes
    }

    /// The bits that must all be set in the status byte for the rule to speak; none for every status.
    pub fn status(&self) -> CodeStatus {
        self.status
    }

    /// Why, for people.
    pub fn because(&self) -> &str {
        &self.because
    }

    /// Where it comes from.
    pub fn source(&self) -> Option<&str> {
        self.source.as_deref()
    }

    /// Where the definition file gives it.
    pub fn place(&self) -> TextPosition {
        self.place
    }

    /// What speaks against a code that was read in this situation, in words; nothing where nothing does.
    ///
    /// A rule that asks for status bits says nothing of a code without a status byte.
    pub fn against(&self, code: &ReportedCode, situation: &Situation, volts: Option<&Decimal>) -> Option<String> {
        let text = code.code.to_string();
        if !self.codes.iter().any(|pattern| pattern.fits(&text)) {
            return None;
        }
        if self.status.0 != 0 && code.status.is_none_or(|status| status.0 & self.status.0 != self.status.0) {
            return None;
        }
        if let (Some(needed), Some(was)) = (self.engine, situation.engine)
            && needed != was
        {
            return Some(format!("the engine was {was}"));
        }
        if let (Some(needed), Some(was)) = (self.ignition, situation.ignition)
            && needed != was
        {
            return Some(format!("the ignition was {was}"));
        }
        let volts = volts?;
        let below = self.least_volts.as_ref().is_some_and(|least| volts < least);
        let above = self.most_volts.as_ref().is_some_and(|most| volts > most);
        (below || above).then(|| format!("the supply voltage was {volts} V"))
    }
}
