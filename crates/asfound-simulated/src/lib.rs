//! A vehicle that does not exist.
//!
//! It is made of a reading ([`Vehicle::of_reading`]) and answers as its modules would (ISO 14229-1, SAE J1979), with faults that a seed
//! decides. [`IpGateway`] is its side of diagnostics on IP (ISO 13400-2), fed with bytes and moments; [`IpServer`] puts it on
//! loopback. What was sent to it is kept to the last byte ([`Vehicle::heard`]).

mod faults;
mod ip_gateway;
mod ip_server;
mod module;
mod of_reading;
mod vehicle;

pub use faults::{Fault, Faults};
pub use ip_gateway::IpGateway;
pub use ip_server::IpServer;
pub use module::{Module, StoredCode};
pub use vehicle::Vehicle;
