//! Where a module speaks, as text.

use std::fmt;
use std::str::FromStr;

use asfound_core::names::ModuleName;
use asfound_wire::conversation::{ModuleAddress, TesterAddress};
use asfound_wire::pairing::PairOverride;
use asfound_wire::transport::CanChannel;
use thiserror::Error;

/// A channel without its bus: `7E0`, or `6F1/12` with an address byte.
pub(super) fn channel_text(channel: CanChannel) -> String {
    let address = channel.address.map_or_else(String::new, |address| format!("/{address:02X}"));
    format!("{}{address}", channel.id)
}

pub(super) fn module_text(address: ModuleAddress) -> String {
    match address {
        ModuleAddress::Can(channel) => channel_text(channel),
        ModuleAddress::Ip(address) => format!("IP {address:04X}"),
    }
}

pub(super) fn tester_text(address: TesterAddress) -> String {
    match address {
        TesterAddress::Can(channel) => channel_text(channel),
        TesterAddress::Ip(address) => format!("IP {address:04X}"),
    }
}

/// Where somebody says that a module speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum NamedPlace {
    Can(PairOverride),
    Ip(u16),
}

/// A module that somebody names: `body=7E0:7E8` for a pair of identifiers, `gateway=0E00` for a logical address on IP.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AddressedModule {
    /// The module.
    pub module: ModuleName,
    place: NamedPlace,
}

/// Why a text names no module on the bus.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{text}`: {why}; a module is named as in body=7E0:7E8, or with a logical address on IP as in gateway=0E00")]
pub struct AddressedModuleError {
    text: String,
    why: String,
}

impl AddressedModule {
    /// The pair of identifiers, where the module is on a CAN bus.
    pub fn pair(&self) -> Option<PairOverride> {
        match self.place {
            NamedPlace::Can(pair) => Some(pair),
            NamedPlace::Ip(_) => None,
        }
    }

    /// Whether a module that answers there, asked from there, is meant.
    pub(super) fn is(&self, answers: ModuleAddress, askers: impl IntoIterator<Item = TesterAddress>) -> bool {
        match (self.place, answers) {
            (NamedPlace::Ip(said), ModuleAddress::Ip(address)) => said == address,
            (NamedPlace::Can(pair), ModuleAddress::Can(response)) => askers
                .into_iter()
                .any(|asker| matches!(asker, TesterAddress::Can(request) if pair.is(&request, &response))),
            _ => false,
        }
    }
}

impl FromStr for AddressedModule {
    type Err = AddressedModuleError;
    fn from_str(text: &str) -> Result<Self, AddressedModuleError> {
        let wrong = |why: &dyn fmt::Display| AddressedModuleError { text: text.to_owned(), why: why.to_string() };
        let (name, place) = text.split_once('=').ok_or_else(|| wrong(&"there is no `=`"))?;
        let module = name.parse().map_err(|error| wrong(&error))?;
        let place = if place.contains(':') {
            NamedPlace::Can(place.parse().map_err(|error| wrong(&error))?)
        } else {
            let digits = place.len() == 4 && place.bytes().all(|byte| byte.is_ascii_hexdigit());
            let address = u16::from_str_radix(place, 16).ok().filter(|_| digits);
            NamedPlace::Ip(address.ok_or_else(|| wrong(&"a logical address has four hexadecimal digits"))?)
        };
        Ok(Self { module, place })
    }
}

impl fmt::Display for AddressedModule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.place {
            NamedPlace::Can(pair) => write!(f, "{}={pair}", self.module),
            NamedPlace::Ip(address) => write!(f, "{}={address:04X}", self.module),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn modules_are_named_as_they_are_written() {
        for text in ["body=7E0:7E8", "body=18DA0EF1:18DAF10E", "gateway=0E00", "x=6F1/12:612/F1"] {
            assert_eq!(text.parse::<AddressedModule>().unwrap().to_string(), text);
        }
        for wrong in ["body", "body=", "body=7E0", "Body=7E0:7E8", "=7E0:7E8", "body=+E00", "body=7E0:7E0"] {
            assert!(wrong.parse::<AddressedModule>().is_err(), "{wrong}");
        }
    }
}
