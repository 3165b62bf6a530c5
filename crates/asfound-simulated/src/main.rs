//! Serves a vehicle on loopback until standard input ends: `asfound-simulated READING VIN [ADDRESS]`. Says where it is in the first line
//! of standard output.

use std::io::{self, Read, Write};
use std::process::ExitCode;

use asfound_core::names::Vin;
use asfound_simulated::{IpServer, Vehicle};
use thiserror::Error;

#[derive(Debug, Error)]
enum Failure {
    #[error("usage: asfound-simulated READING VIN [ADDRESS]")]
    Usage,
    #[error("{0}")]
    Io(#[from] io::Error),
    #[error("{0}")]
    Vin(#[from] asfound_core::names::VinError),
    #[error("{0}")]
    Address(#[from] std::net::AddrParseError),
    #[error("the reading cannot be read: {0}")]
    Reading(String),
}

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            // Nobody is left to tell when standard error is gone.
            let _ = writeln!(io::stderr(), "{failure}");
            ExitCode::from(2)
        }
    }
}

fn run() -> Result<(), Failure> {
    let mut arguments = std::env::args().skip(1);
    let (Some(reading), Some(vin)) = (arguments.next(), arguments.next()) else { return Err(Failure::Usage) };
    let reading = asfound_capture::file::parse_reading(&std::fs::read(reading)?)
        .map_err(|problems| Failure::Reading(format!("{problems:?}")))?;
    let vehicle = Vehicle::of_reading(&reading, &vin.parse::<Vin>()?);
    let server = match arguments.next() {
        Some(address) => IpServer::start_at(address.parse()?, vehicle)?,
        None => IpServer::start(vehicle)?,
    };
    writeln!(io::stdout(), "{}", server.address())?;
    io::stdout().flush()?;
    io::stdin().read_to_end(&mut Vec::new())?;
    Ok(())
}
