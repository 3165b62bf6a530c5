//! How a link is written on the command line.

use std::fmt;
use std::net::{SocketAddr, ToSocketAddrs};
use std::str::FromStr;

use asfound_link::LinkError;
use asfound_link::can::BitRate;
use asfound_wire::ip::PORT;
use thiserror::Error;

/// A way to a car: `doip:HOST`, `doip:HOST:PORT`, `slcan:PORT` or `slcan:PORT@RATE`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LinkAddress {
    text: String,
    /// Which way.
    pub way: Way,
}

/// Which way leads to a car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Way {
    /// Diagnostics on IP.
    Ip(Host),
    /// A serial-line CAN adapter.
    Serial {
        /// The path or name of its port.
        path: String,
        /// The bit rate of the bus.
        rate: BitRate,
    },
}

/// A host with a port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Host {
    name: String,
    port: u16,
}

/// A text that is no way to a car.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "invalid link `{text}`: {why}; expected doip:HOST, as in doip:192.0.2.1, or slcan:PORT, as in slcan:/dev/ttyACM0@500000"
)]
pub struct LinkAddressError {
    text: String,
    why: String,
}

impl Host {
    /// Where that is.
    ///
    /// # Errors
    /// When the name stands for no address.
    pub fn resolve(&self) -> Result<SocketAddr, LinkError> {
        let failed = |source| LinkError::Host { host: self.name.clone(), source };
        let mut found = (self.name.as_str(), self.port).to_socket_addrs().map_err(failed)?;
        found.next().ok_or_else(|| failed(std::io::ErrorKind::NotFound.into()))
    }
}

impl FromStr for LinkAddress {
    type Err = LinkAddressError;
    fn from_str(text: &str) -> Result<Self, LinkAddressError> {
        let way = match text.split_once(':') {
            Some(("doip", place)) => host(place).map(Way::Ip),
            Some(("slcan", place)) => serial(place),
            _ => Err("it names no way that is known".to_owned()),
        };
        let way = way.map_err(|why| LinkAddressError { text: text.chars().take(80).collect(), why })?;
        Ok(Self { text: text.to_owned(), way })
    }
}

fn host(place: &str) -> Result<Host, String> {
    let wrong = || "the text after the host is not a port".to_owned();
    let (name, port) = match place.strip_prefix('[') {
        Some(rest) => {
            let (name, rest) = rest.split_once(']').ok_or_else(wrong)?;
            let port = if rest.is_empty() { None } else { Some(rest.strip_prefix(':').ok_or_else(wrong)?) };
            (name, port)
        }
        // An address of version 6 without brackets has no port behind it.
        None if place.matches(':').count() > 1 => (place, None),
        None => place.split_once(':').map_or((place, None), |(name, port)| (name, Some(port))),
    };
    let plain = |c: char| c.is_ascii_alphanumeric() || "-._:%".contains(c);
    if name.is_empty() || !name.chars().all(plain) {
        return Err("it names no host".to_owned());
    }
    let port = port.map_or(Ok(PORT), |port| port.parse().map_err(|_| wrong()))?;
    Ok(Host { name: name.to_owned(), port })
}

fn serial(place: &str) -> Result<Way, String> {
    let (path, rate) = match place.rsplit_once('@') {
        Some((path, rate)) => (path, rate.parse()?),
        None => (place, BitRate::USUAL),
    };
    if path.is_empty() || path.chars().any(char::is_control) {
        return Err("it names no port".to_owned());
    }
    Ok(Way::Serial { path: path.to_owned(), rate })
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
            assert_eq!(link.way, Way::Ip(Host { name: host.to_owned(), port }), "{text}");
            assert_eq!(link.to_string(), text);
        }
        let slow = Way::Serial { path: "/dev/ttyACM0".to_owned(), rate: BitRate::of(125_000).unwrap() };
        assert_eq!("slcan:/dev/ttyACM0@125000".parse::<LinkAddress>().unwrap().way, slow);
        let usual = Way::Serial { path: "COM3".to_owned(), rate: BitRate::USUAL };
        assert_eq!("slcan:COM3".parse::<LinkAddress>().unwrap().way, usual);
        for text in
            ["", "doip:", "192.0.2.1", "doip:host:port", "doip:host:70000", "doip:[::1", "doip:[::1]x", "doip:a b"]
        {
            assert!(text.parse::<LinkAddress>().is_err(), "{text}");
        }
        for text in ["slcan:", "slcan:@500000", "slcan:/dev/ttyACM0@501000", "serial:x"] {
            assert!(text.parse::<LinkAddress>().is_err(), "{text}");
        }
    }
}
