//! How a link is written on the command line.

use std::fmt;
use std::net::{SocketAddr, ToSocketAddrs};
use std::str::FromStr;

use asfound_link::LinkError;
use asfound_wire::ip::PORT;
use thiserror::Error;

/// A way to a car: `doip:HOST` or `doip:HOST:PORT`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LinkAddress {
    text: String,
    host: String,
    port: u16,
}

/// A text that is no way to a car.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid link `{0}` (expected doip:HOST or doip:HOST:PORT, as in doip:192.0.2.1 or doip:[fe80::1]:13400)")]
pub struct LinkAddressError(String);

impl LinkAddress {
    /// Where that is.
    ///
    /// # Errors
    /// When the name stands for no address.
    pub fn resolve(&self) -> Result<SocketAddr, LinkError> {
        let failed = |source| LinkError::Host { host: self.host.clone(), source };
        let mut found = (self.host.as_str(), self.port).to_socket_addrs().map_err(failed)?;
        found.next().ok_or_else(|| failed(std::io::ErrorKind::NotFound.into()))
    }
}

impl FromStr for LinkAddress {
    type Err = LinkAddressError;
    fn from_str(text: &str) -> Result<Self, LinkAddressError> {
        let wrong = || LinkAddressError(text.chars().take(80).collect());
        let place = text.strip_prefix("doip:").ok_or_else(wrong)?;
        let (host, port) = match place.strip_prefix('[') {
            Some(rest) => {
                let (host, rest) = rest.split_once(']').ok_or_else(wrong)?;
                let port = if rest.is_empty() { None } else { Some(rest.strip_prefix(':').ok_or_else(wrong)?) };
                (host, port)
            }
            // An address of version 6 without brackets has no port behind it.
            None if place.matches(':').count() > 1 => (place, None),
            None => place.split_once(':').map_or((place, None), |(host, port)| (host, Some(port))),
        };
        let plain = |c: char| c.is_ascii_alphanumeric() || "-._:%".contains(c);
        if host.is_empty() || !host.chars().all(plain) {
            return Err(wrong());
        }
        let port = port.map_or(Ok(PORT), |port| port.parse().map_err(|_| wrong()))?;
        Ok(Self { text: text.to_owned(), host: host.to_owned(), port })
    }
}

impl fmt::Display for LinkAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hosts_and_ports_are_told_apart() {
        for (text, host, port) in [
            ("doip:192.0.2.1", "192.0.2.1", 13400),
            ("doip:192.0.2.1:5000", "192.0.2.1", 5000),
            ("doip:gateway.local", "gateway.local", 13400),
            ("doip:[fe80::1%eth0]:5000", "fe80::1%eth0", 5000),
            ("doip:[::1]", "::1", 13400),
            ("doip:fe80::1", "fe80::1", 13400),
        ] {
            let link: LinkAddress = text.parse().unwrap();
            assert_eq!((link.host.as_str(), link.port), (host, port), "{text}");
            assert_eq!(link.to_string(), text);
        }
        for text in ["", "doip:", "192.0.2.1", "doip:host:port", "doip:host:70000", "doip:[::1", "doip:[::1]x", "doip:a b"] {
            assert!(text.parse::<LinkAddress>().is_err(), "{text}");
        }
    }
}
