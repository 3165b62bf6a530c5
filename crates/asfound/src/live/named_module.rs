//! A module to ask, as it is written on the command line.

use std::str::FromStr;

use asfound_core::names::ModuleName;
use thiserror::Error;

/// A module to ask: `body=000E`, or `body` where the journal knows its address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedModule {
    /// Its name.
    pub name: ModuleName,
    /// Its address.
    pub address: Option<u16>,
}

/// A text that names no module to ask.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{text}`: {why}; a module is named as in body=000E, or as in body where the journal knows its address")]
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
        let address = address.map(logical_address).transpose().map_err(wrong)?;
        Ok(Self { name, address })
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
        let named = |text: &str| text.parse::<NamedModule>().map(|named| (named.name.to_string(), named.address));
        assert_eq!(named("body=000E"), Ok(("body".to_owned(), Some(0x0E))));
        assert_eq!(named("body=0xE"), Ok(("body".to_owned(), Some(0x0E))));
        assert_eq!(named("body"), Ok(("body".to_owned(), None)));
        for wrong in ["", "Body", "body=", "body=10000", "body=+E", "=000E"] {
            assert!(named(wrong).is_err(), "{wrong}");
        }
        assert_eq!(status_bits("2f"), Ok(0x2F));
        assert!(status_bits("2").is_err() && status_bits("+2").is_err());
    }
}
