//! A module to ask, as it is written on the command line.

use std::str::FromStr;

use asfound_core::names::ModuleName;
use asfound_wire::pairing::PairOverride;
use thiserror::Error;

/// Where a module is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AskedAt {
    /// A logical address on IP; on a CAN bus the address of one byte in normal fixed addressing.
    Address(u16),
    /// A pair of identifiers on a CAN bus.
    Pair(PairOverride),
}

/// A module to ask: `body=000E`, `body=7E0:7E8`, or `body` where the journal knows its address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedModule {
    /// Its name.
    pub name: ModuleName,
    /// Where it is asked.
    pub at: Option<AskedAt>,
}

/// A text that names no module to ask.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "`{text}`: {why}; a module is named as in body=000E or body=7E0:7E8, or as in body where the journal knows its address"
)]
pub struct NamedModuleError {
    text: String,
    why: String,
}

impl FromStr for NamedModule {
    type Err = NamedModuleError;
    fn from_str(text: &str) -> Result<Self, NamedModuleError> {
        let wrong = |why: String| NamedModuleError { text: text.chars().take(80).collect(), why };
        let (name, address) = text.split_once('=').map_or((text, None), |(name, address)| (name, Some(address)));
        let name = name.parse().map_err(|error| wrong(format!("{error}")))?;
        let at = match address {
            None => None,
            Some(pair) if pair.contains(':') => {
                Some(AskedAt::Pair(pair.parse().map_err(|error| wrong(format!("{error}")))?))
            }
            Some(address) => Some(AskedAt::Address(logical_address(address).map_err(wrong)?)),
        };
        Ok(Self { name, at })
    }
}

/// A logical address: up to four hexadecimal digits, also behind `0x`.
///
/// # Errors
/// Why it is none.
pub fn logical_address(text: &str) -> Result<u16, String> {
    let digits = text.strip_prefix("0x").unwrap_or(text);
    let plain = (1..=4).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_hexdigit());
    u16::from_str_radix(digits, 16)
        .ok()
        .filter(|_| plain)
        .ok_or_else(|| format!("invalid address `{text}` (expected up to four hexadecimal digits, as in 000E)"))
}

/// Status bits: two hexadecimal digits.
///
/// # Errors
/// Why they are none.
pub fn status_bits(text: &str) -> Result<u8, String> {
    let plain = text.len() == 2 && text.bytes().all(|byte| byte.is_ascii_hexdigit());
    u8::from_str_radix(text, 16)
        .ok()
        .filter(|_| plain)
        .ok_or_else(|| format!("invalid status bits `{text}` (expected two hexadecimal digits, as in 2F)"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn modules_are_named_with_or_without_their_address() {
        let named = |text: &str| text.parse::<NamedModule>().map(|named| (named.name.to_string(), named.at));
        assert_eq!(named("body=000E"), Ok(("body".to_owned(), Some(AskedAt::Address(0x0E)))));
        assert_eq!(named("body=0xE"), Ok(("body".to_owned(), Some(AskedAt::Address(0x0E)))));
        assert_eq!(named("body"), Ok(("body".to_owned(), None)));
        let pair = AskedAt::Pair("7E0:7E8".parse().unwrap());
        assert_eq!(named("engine=7E0:7E8"), Ok(("engine".to_owned(), Some(pair))));
        for wrong in ["", "Body", "body=", "body=10000", "body=+E", "=000E", "body=7E0:7E0"] {
            assert!(named(wrong).is_err(), "{wrong}");
        }
        assert_eq!(status_bits("2f"), Ok(0x2F));
        assert!(status_bits("2").is_err() && status_bits("+2").is_err());
    }
}
