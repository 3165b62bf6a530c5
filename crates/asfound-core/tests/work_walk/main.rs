//! Plans are walked on a vehicle in memory that does what vehicles do: it refuses, answers busy, loses its supply in
//! the middle of a write, stores something else, answers with what it said before, or loses the connection. The walk is
//! killed between any two events. What the journal says afterwards must be true of the vehicle.

#![allow(clippy::unwrap_used, reason = "a test ends where something is not as it was set up")]

mod driver;
mod garage;
mod random;
mod steps;
mod vehicle;
