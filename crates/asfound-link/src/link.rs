//! What every way to a car has in common.

use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::Timestamp;

use crate::client::Undelivered;
use crate::error::LinkError;
use crate::request::ReadRequest;

/// What came of a module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Arrival {
    /// A response.
    Response(Vec<u8>),
    /// The gateway passed the request on.
    PassedOn,
    /// The gateway did not.
    Undelivered(Undelivered),
}

/// Something that came, from whom and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Received {
    /// The module.
    pub from: ModuleAddress,
    /// When.
    pub moment: Timestamp,
    /// What.
    pub what: Arrival,
}

/// A way to a car. It takes nothing but a [`ReadRequest`].
pub trait Link {
    /// The moment that it is.
    fn now(&self) -> Timestamp;

    /// Sends a request to a module.
    ///
    /// # Errors
    /// When the way to the car is gone.
    fn send(&mut self, to: ModuleAddress, request: ReadRequest) -> Result<(), LinkError>;

    /// Waits for what comes next, until a moment; nothing where it passes.
    ///
    /// # Errors
    /// When the way to the car is gone.
    fn receive(&mut self, until: Timestamp) -> Result<Option<Received>, LinkError>;
}
