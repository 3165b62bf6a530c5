//! Plans are walked on a vehicle in memory that does what vehicles do: it refuses, answers busy, loses its supply in
//! the middle of a write, stores something else, answers with what it said before, or loses the connection. The walk is
//! killed between any two events. What the journal says afterwards must be true of the vehicle.
#![allow(clippy::pedantic, clippy::unwrap_used, reason = "tests may stop at what cannot be")]

mod driver;
mod garage;
mod random;
mod steps;
mod vehicle;
