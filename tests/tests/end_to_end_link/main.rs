//! The car itself, which is the simulated vehicle on loopback.

#![allow(clippy::unwrap_used, reason = "in a test that is a failed test, also in its helpers")]

mod promise;
mod read;
mod refusals;
#[cfg(unix)]
mod serial;
#[cfg(unix)]
mod stopped;

use std::path::Path;

use asfound_simulated::{IpServer, Vehicle};
use asfound_tests::Workshop;

const VIN: &str = "G0MSR41E0LT004217";
const READY: &str = "--ready --as found";
/// The modules of the invented vehicle.
const MODULES: &str = "--ask gateway=0007 --ask body=000E --ask brakes=001B --ask restraint=001D --ask cluster=0023 \
                       --ask climate=002A --ask lamps=0033 --ask doors=003D --ask parking_aid=004B";

/// The invented vehicle of the demonstration, as it was found first.
fn wren() -> Vehicle {
    let path = demo("readings/wren-2026-03-14-found.toml");
    let reading = asfound_capture::file::parse_reading(&std::fs::read(path).unwrap()).unwrap();
    Vehicle::of_reading(&reading, &VIN.parse().unwrap())
}

fn demo(file: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-vehicles").join(file)
}

/// A workshop with the definitions of the invented vehicles, in which `wren` is enrolled.
fn shop() -> Workshop {
    let mut shop = Workshop::new();
    let mut names = Vec::new();
    for entry in std::fs::read_dir(demo("definitions")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        shop.write(&name, std::fs::read(&path).unwrap());
        names.push(format!("./{name}"));
    }
    let _ = shop.run(&format!("definition keep {}", names.join(" "))).done();
    let _ = shop.run(&format!("enrol wren --vin {VIN}")).done();
    shop
}

/// The command that reads the vehicle of a server.
fn read_from(server: &IpServer) -> String {
    format!("read wren --from doip:{}", server.address())
}
