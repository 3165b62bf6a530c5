//! Why a car cannot be reached.

use std::io;

use thiserror::Error;

use crate::ip_codes::{activation_text, header_text};

/// Why a car cannot be reached, or not any more.
#[derive(Debug, Error)]
pub enum LinkError {
    /// A name that stands for no address, or the machine has no network.
    #[error("`{host}` cannot be found: {source}")]
    Host {
        /// As it was given.
        host: String,
        /// Why.
        source: io::Error,
    },
    /// Nobody takes the connection.
    #[error("no connection to {address}: {source}")]
    Connect {
        /// Where to.
        address: String,
        /// Why.
        source: io::Error,
    },
    /// The port of an adapter cannot be opened.
    #[error("{path}: {source}")]
    Port {
        /// Its path or name.
        path: String,
        /// Why.
        source: io::Error,
    },
    /// The adapter refuses a command.
    #[error("the adapter refuses a command")]
    Adapter,
    /// The adapter is not there any more.
    #[error("the adapter is not there any more")]
    Unplugged,
    /// The connection was there, and broke.
    #[error("the connection broke: {0}")]
    Broken(io::Error),
    /// The other side ended the connection.
    #[error("the vehicle ended the connection")]
    Ended,
    /// What came is not diagnostics on IP.
    #[error("what comes from there is not diagnostics on IP (ISO 13400-2)")]
    OtherProtocol,
    /// The gateway could not make anything of a message.
    #[error("the gateway refused a message: {0:02X} {text}", text = header_text(*.0))]
    Header(u8),
    /// The gateway does not let the tester in.
    #[error("the gateway refused routing activation: {0:02X} {text}", text = activation_text(*.0))]
    Activation(u8),
    /// The gateway did not say whether it lets the tester in.
    #[error("the gateway did not answer the routing activation within {0} s")]
    NoActivation(u64),
}

impl LinkError {
    /// What to try.
    pub const fn hint(&self) -> Option<&'static str> {
        Some(match self {
            Self::Host { .. } => "check the name or address, as in doip:192.0.2.1",
            Self::Connect { .. } => {
                "switch the ignition on, check the cable and that this machine has an address in the vehicle's network"
            }
            Self::Port { .. } => {
                "check the name of the port, that no other program uses it, and that you may open it (on Linux: the group that owns the device)"
            }
            Self::Adapter => "check that it is a serial-line CAN adapter, and the bit rate of the bus",
            Self::Unplugged | Self::Broken(_) | Self::Ended => "check cable and supply, then read again",
            Self::OtherProtocol => "check the address and the port; the port of ISO 13400-2 is 13400",
            Self::Header(_) => "the gateway may keep to an older edition of ISO 13400-2",
            Self::Activation(0x00) => "name an address that the gateway knows with `--tester ADDRESS`, as in 0E00",
            Self::Activation(0x01) => "end other programs that are connected to the vehicle, then read again",
            Self::Activation(0x02 | 0x03) => {
                "end the program that uses this tester address, or name another with `--tester`"
            }
            Self::Activation(0x04 | 0x05 | 0x07) => {
                "this gateway lets nobody in without authentication, which asfound has none of"
            }
            Self::Activation(0x11) => "confirm the connection in the vehicle, then read again",
            Self::Activation(_) => "wait a little, then read again",
            Self::NoActivation(_) => "switch the ignition off and on, then read again",
        })
    }
}
