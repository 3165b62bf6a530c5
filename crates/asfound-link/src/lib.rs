//! The car itself, read by open standards and never written to.
//!
//! Everything that can be asked of a car is a [`ReadRequest`](request::ReadRequest). Nothing else leaves for a module.

pub mod can;
pub mod client;
mod error;
pub mod ip;
mod ip_codes;
mod link;
pub mod reading;
pub mod request;

pub use error::LinkError;
pub use link::{Arrival, Link, Received};
