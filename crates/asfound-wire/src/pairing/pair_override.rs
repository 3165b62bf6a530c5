//! A pair that somebody says.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use crate::frame::{CanId, CanIdError, Interface};
use crate::transport::CanChannel;

/// A pair that is taken as said: `17FC007B:17FE007B`, request before response. With an address byte in front
/// of the transport (extended and mixed addressing) it stands after a slash: `6F1/12:612/F1`. It holds on every bus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PairOverride {
    request: (CanId, Option<u8>),
    response: (CanId, Option<u8>),
}

/// Why a text is no pair.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PairOverrideError {
    /// No colon, or one side empty.
    #[error("a pair is two identifiers with a colon between, request first: 7E0:7E8 or 6F1/12:612/F1")]
    Form,
    /// One side is no identifier.
    #[error(transparent)]
    Id(#[from] CanIdError),
    /// Both sides are the same.
    #[error("request and response cannot have the same identifier")]
    Same,
    /// One side has an address and the other has none.
    #[error("either both sides have an address after a slash, or none has")]
    Mixed,
}

impl PairOverride {
    /// The pair on one bus: request, response.
    pub fn on(&self, interface: Interface) -> (CanChannel, CanChannel) {
        let channel = |(id, address)| CanChannel { interface, id, address };
        (channel(self.request), channel(self.response))
    }

    /// Whether this is the pair of a module that answers on `response`, asked on `request`, on whatever bus.
    pub fn is(&self, request: &CanChannel, response: &CanChannel) -> bool {
        (request.id, request.address) == self.request && (response.id, response.address) == self.response
    }

    /// Whether frames with this identifier are meant.
    pub(super) fn names(&self, id: CanId) -> bool {
        self.request.0 == id || self.response.0 == id
    }
}

fn side(text: &str) -> Result<(CanId, Option<u8>), PairOverrideError> {
    match text.split_once('/') {
        None => Ok((text.parse()?, None)),
        Some((id, address)) => {
            let fits = address.len() == 2 && address.bytes().all(|b| b.is_ascii_hexdigit());
            let address = u8::from_str_radix(address, 16).ok().filter(|_| fits).ok_or(PairOverrideError::Form)?;
            Ok((id.parse()?, Some(address)))
        }
    }
}

impl FromStr for PairOverride {
    type Err = PairOverrideError;
    fn from_str(text: &str) -> Result<Self, PairOverrideError> {
        let (request, response) = text.split_once(':').ok_or(PairOverrideError::Form)?;
        let (request, response) = (side(request)?, side(response)?);
        if request == response {
            return Err(PairOverrideError::Same);
        }
        if request.1.is_some() != response.1.is_some() {
            return Err(PairOverrideError::Mixed);
        }
        Ok(Self { request, response })
    }
}

impl fmt::Display for PairOverride {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let side = |(id, address): (CanId, Option<u8>)| match address {
            None => id.to_string(),
            Some(address) => format!("{id}/{address:02X}"),
        };
        write!(f, "{}:{}", side(self.request), side(self.response))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_are_written_as_they_are_read() {
        for text in ["7E0:7E8", "17FC007B:17FE007B", "6F1/12:612/F1"] {
            assert_eq!(text.parse::<PairOverride>().unwrap().to_string(), text);
        }
        for wrong in ["7E0", "7E0:", "7E0:7E0", "7E0:xyz", "6F1/12:612", "6F1/1:612/F1", "6F1/+1:612/F1", "800:7E8"] {
            assert!(wrong.parse::<PairOverride>().is_err(), "{wrong}");
        }
    }
}
