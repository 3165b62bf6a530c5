//! A vehicle that does not exist.
//!
//! It is made of a reading ([`Vehicle::of_reading`]) and answers as its modules would (ISO 14229-1, SAE J1979), with faults that a seed
//! decides. [`IpGateway`] is its side of diagnostics on IP (ISO 13400-2), fed with bytes and moments; [`IpServer`] puts it on
//! loopback. [`CanGateway`] is its side of ISO 15765-2 on a CAN bus; `SerialAdapter` puts it behind a pseudo-terminal, where the system has
//! those. What was sent to it is kept to the last byte ([`Vehicle::heard`]).

mod can_gateway;
mod faults;
mod ip_gateway;
mod ip_server;
mod module;
mod of_reading;
#[cfg(unix)]
mod serial_adapter;
mod vehicle;

pub use can_gateway::CanGateway;
pub use faults::{Fault, Faults};
pub use ip_gateway::IpGateway;
pub use ip_server::IpServer;
pub use module::{Module, StoredCode};
#[cfg(unix)]
pub use serial_adapter::SerialAdapter;
pub use vehicle::Vehicle;
