//! The link against the simulated vehicle.

#![allow(clippy::unwrap_used, reason = "in a test that is a failed test, also in its helpers")]

mod can_bus;
mod conversations;
mod loopback;
mod promise;
#[cfg(unix)]
mod serial;
mod virtual_link;
mod whole_reading;

use asfound_core::names::Vin;
use asfound_simulated::Vehicle;

/// The invented vehicle of the demonstration, as it was found first.
fn wren() -> Vehicle {
    Vehicle::of_reading(&wren_reading(), &wren_vin())
}

fn wren_vin() -> Vin {
    "G0MSR41E0LT004217".parse().unwrap()
}

fn wren_reading() -> asfound_core::reading::Reading {
    let file = include_bytes!("../../../../demo-vehicles/readings/wren-2026-03-14-found.toml");
    asfound_capture::file::parse_reading(file).unwrap()
}
