//! What the form of a code says by itself: system, issuer and area.

use std::fmt;

use super::TroubleCode;

/// The system that the letter of a code names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CodeSystem {
    /// P.
    Powertrain,
    /// C: brakes, steering, suspension.
    Chassis,
    /// B.
    Body,
    /// U: what modules say to each other.
    Network,
}

impl fmt::Display for CodeSystem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Powertrain => "powertrain",
            Self::Chassis => "chassis",
            Self::Body => "body",
            Self::Network => "network",
        })
    }
}

/// Who says what a code means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CodeIssuer {
    /// The standard.
    Generic,
    /// The vehicle's maker.
    MakerSpecific,
    /// Editions of the standard do not agree, or the range is reserved.
    Reserved,
}

impl fmt::Display for CodeIssuer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Generic => "generic",
            Self::MakerSpecific => "maker-specific",
            Self::Reserved => "reserved",
        })
    }
}

/// The structure of SAE J2012 / ISO 15031-6, from memory: the texts were not seen.
impl TroubleCode {
    /// The system that the letter names; nothing for another code system.
    pub fn system(&self) -> Option<CodeSystem> {
        Some(match self.base()? >> 14 {
            0 => CodeSystem::Powertrain,
            1 => CodeSystem::Chassis,
            2 => CodeSystem::Body,
            _ => CodeSystem::Network,
        })
    }

    /// Who says what the code means, by its first digit; for P3 the second digit decides too.
    pub fn issuer(&self) -> Option<CodeIssuer> {
        let base = self.base()?;
        let powertrain = base >> 14 == 0;
        Some(match (base >> 12 & 0b11, powertrain) {
            (0, _) | (2, true) => CodeIssuer::Generic,
            (3, true) if base & 0xFFF >= 0x400 => CodeIssuer::Generic,
            (1 | 2, _) | (3, true) => CodeIssuer::MakerSpecific,
            _ => CodeIssuer::Reserved,
        })
    }

    /// The area within the system, where the standard gives the second digit of a generic powertrain code a meaning.
    pub fn area(&self) -> Option<&'static str> {
        let base = self.base()?;
        if base >> 12 != 0 {
            return None;
        }
        Some(match base >> 8 & 0xF {
            0..=2 => "fuel and air metering",
            3 => "ignition, misfire",
            4 => "auxiliary emission controls",
            5 => "vehicle speed, idle control, auxiliary inputs",
            6 => "computer and outputs",
            7..=9 => "transmission",
            0xA..=0xC => "hybrid or electric propulsion",
            _ => return None,
        })
    }

    /// System and issuer in words, with the area where there is one; nothing for another code system.
    pub fn structure(&self) -> Option<String> {
        let (system, issuer) = (self.system()?, self.issuer()?);
        let area = self.area().map(|area| format!(", {area}")).unwrap_or_default();
        Some(format!("{system}, {issuer}{area}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From memory, as above.
    #[test]
    fn the_form_tells_system_issuer_and_area() {
        let told = |text: &str| text.parse::<TroubleCode>().unwrap().structure();
        for (code, words) in [
            ("P0135", "powertrain, generic, fuel and air metering"),
            ("P0301", "powertrain, generic, ignition, misfire"),
            ("P0A80", "powertrain, generic, hybrid or electric propulsion"),
            ("P1135", "powertrain, maker-specific"),
            ("P2135", "powertrain, generic"),
            ("P3135", "powertrain, maker-specific"),
            ("P3400", "powertrain, generic"),
            ("C0035-11", "chassis, generic"),
            ("B1A1B-2C", "body, maker-specific"),
            ("C3000", "chassis, reserved"),
            ("U0064-87", "network, generic"),
        ] {
            assert_eq!(told(code).as_deref(), Some(words), "{code}");
        }
        assert_eq!(told("17158"), None);
    }
}
