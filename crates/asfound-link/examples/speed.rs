//! How long a car of 60 modules with 40 records takes over loopback: `cargo run --release -p asfound-link --example speed [MILLISECONDS]`,
//! where every module takes so long for an answer. Beside it stands what the answers alone take.

use std::io::Write;
use std::time::{Duration, Instant};

use asfound_link::client::Timing;
use asfound_link::ip::{IpLink, IpOptions};
use asfound_link::reading::{ModuleAnswers, Survey, SurveyWatcher};
use asfound_link::request::ReadRequest;
use asfound_simulated::{Faults, IpServer, Module, Vehicle};
use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::Timestamp;

const MODULES: u16 = 60;
const RECORDS: u16 = 40;
const AT_ONCE: u32 = 8;

struct Nothing;

impl SurveyWatcher for Nothing {
    fn next(&mut self, _: ModuleAddress, _: &ModuleAnswers) -> Vec<ReadRequest> {
        Vec::new()
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let takes: u64 = std::env::args().nth(1).map_or(Ok(5), |text| text.parse())?;
    let mut vehicle = Vehicle::default();
    vehicle.faults = Faults::none().slow(Duration::from_millis(takes));
    for address in 1..=MODULES {
        let records = (0..RECORDS).map(|record| (0x0100 + record, vec![7; 16])).collect();
        vehicle.modules.insert(address, Module { records, ..Module::default() });
    }
    let server = IpServer::start(vehicle)?;
    let mut link = IpLink::connect(server.address(), IpOptions::at(Timestamp::default()))?;
    let mut survey = Survey::new(Timing::default(), AT_ONCE as usize);
    for address in 1..=MODULES {
        survey.add(ModuleAddress::Ip(address), (0..RECORDS).map(|record| ReadRequest::Record(0x0100 + record)));
    }
    let began = Instant::now();
    survey.run(&mut link, &mut Nothing)?;
    let took = began.elapsed();
    let answered = survey.answers().map(|(_, answers)| answers.asked.len()).sum::<usize>();
    let least = Duration::from_millis(takes) * u32::from(MODULES) * u32::from(RECORDS) / AT_ONCE;
    writeln!(
        std::io::stdout(),
        "{answered} answers in {took:?}; the answers alone take {least:?}, {AT_ONCE} modules at once"
    )?;
    Ok(())
}
