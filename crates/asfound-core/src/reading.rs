//! A reading as it was taken, before it is filed.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::identity::Identity;
use crate::moment::StatedTime;
use crate::names::{ModuleName, RecordName, SettingName, Tag, Vin};
use crate::situation::Situation;
use crate::trouble_code::ReportedCode;
use crate::value::{Decimal, HexBytes};

/// A text that is no diagnostic address.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid diagnostic address `{0}` (expected hexadecimal, as in 0x0E or 0x18DA10F1)")]
pub struct AddressError(String);

/// The diagnostic address of a module, at most 32 bits; written `0x0E`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Address(pub u32);

impl FromStr for Address {
    type Err = AddressError;
    fn from_str(text: &str) -> Result<Self, AddressError> {
        let digits = text.strip_prefix("0x").unwrap_or(text);
        let plain = (1..=8).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_hexdigit());
        if !plain {
            return Err(AddressError(text.chars().take(24).collect()));
        }
        u32::from_str_radix(digits, 16).map(Self).map_err(|_| AddressError(text.to_owned()))
    }
}

impl TryFrom<String> for Address {
    type Error = AddressError;
    fn try_from(text: String) -> Result<Self, AddressError> {
        text.parse()
    }
}

impl From<Address> for String {
    fn from(address: Address) -> String {
        address.to_string()
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("0x{:02X}", self.0))
    }
}

/// How a reading says which vehicle it was taken from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum VehicleMark {
    /// By its tag in the garage.
    Tag(Tag),
    /// By its VIN.
    Vin(Vin),
}

/// What some or all modules said at one moment.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reading {
    /// The vehicle that it says it was taken from.
    pub vehicle: Option<VehicleMark>,
    /// When it was taken.
    pub taken: Option<StatedTime>,
    /// Who took it.
    pub by: Option<String>,
    /// With what it was taken.
    pub tool: Option<String>,
    /// The odometer, in kilometres.
    pub odometer_km: Option<u32>,
    /// The supply voltage, in volts.
    pub supply_voltage: Option<Decimal>,
    /// In what situation it was taken.
    pub situation: Situation,
    /// What each module said.
    pub modules: BTreeMap<ModuleName, ModuleReading>,
}

/// What one module said.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ModuleReading {
    /// Its diagnostic address.
    pub address: Option<Address>,
    /// What it said of itself; what is absent was not asked.
    pub identity: Identity,
    /// Records by name.
    pub records: BTreeMap<RecordName, HexBytes>,
    /// Settings known by value alone, as written.
    pub settings: BTreeMap<SettingName, String>,
    /// Records that the module refused to give.
    pub refused: BTreeSet<RecordName>,
    /// Its trouble codes; nothing when it was not scanned for them.
    pub trouble_codes: Option<Vec<ReportedCode>>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses() {
        assert_eq!("0x0E".parse(), Ok(Address(0x0E)));
        assert_eq!("18da10f1".parse::<Address>().unwrap().to_string(), "0x18DA10F1");
        for text in ["", "0x", "+1", "0x123456789", "x"] {
            assert!(text.parse::<Address>().is_err(), "{text:?}");
        }
    }
}
