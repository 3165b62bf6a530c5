//! A serial-line CAN adapter, which is a pseudo-terminal.

use asfound_link::LinkError;
use asfound_link::can::{BitRate, CanLink, SerialBus, SerialOptions};
use asfound_link::reading::Ended;
use asfound_simulated::SerialAdapter;
use asfound_wire::frame::Timestamp;

use super::can_bus::{Nothing, holds, modules_of, only_reads, survey_of};
use super::wren;

fn options() -> SerialOptions {
    SerialOptions { rate: BitRate::USUAL, now: Timestamp::from_nanoseconds(1_700_000_000_000_000_000) }
}

#[test]
fn a_car_is_read_through_an_adapter() {
    let adapter = SerialAdapter::start(wren()).unwrap();
    // Twice: the bus is closed in between.
    for _ in 0..2 {
        let bus = SerialBus::open(adapter.path(), options()).unwrap();
        let asked = adapter.vehicle().clone();
        let (mut survey, modules) = (survey_of(&asked, 3), modules_of(&asked));
        let mut link = CanLink::new(bus, modules, Some(0xAA), "can0");
        assert_eq!(survey.run(&mut link, &mut Nothing).unwrap(), Ended::Done);
        let (answered, silent) = holds(&survey, &adapter.vehicle());
        assert!(answered > 70 && silent == 0, "{answered} {silent}");
    }
    only_reads(&adapter.vehicle());
}

#[test]
fn a_port_that_is_not_there_is_told_with_its_path() {
    let error = SerialBus::open("/dev/no-such-adapter", options()).err().unwrap();
    assert!(matches!(&error, LinkError::Port { path, .. } if path == "/dev/no-such-adapter"), "{error}");
    assert!(error.hint().is_some());
}

#[test]
fn an_adapter_that_is_unplugged_ends_the_survey_and_what_was_read_stays() {
    let mut vehicle = wren();
    vehicle.faults = asfound_simulated::Faults::none().slow(std::time::Duration::from_millis(20));
    let adapter = SerialAdapter::start(vehicle).unwrap();
    let bus = SerialBus::open(adapter.path(), options()).unwrap();
    let asked = adapter.vehicle().clone();
    let (mut survey, modules) = (survey_of(&asked, 1), modules_of(&asked));
    let mut link = CanLink::new(bus, modules, Some(0xAA), "can0");
    let unplugging = std::thread::spawn(move || {
        std::thread::sleep(std::time::Duration::from_millis(300));
        drop(adapter);
    });
    let error = survey.run(&mut link, &mut Nothing).unwrap_err();
    unplugging.join().unwrap();
    assert!(matches!(error, LinkError::Unplugged | LinkError::Broken(_)), "{error:?}");
    let asked: usize = survey.answers().map(|(_, answers)| answers.asked.len()).sum();
    let left: usize = survey.answers().map(|(_, answers)| answers.left.len()).sum();
    assert!(asked > 0 && left > 0, "{asked} {left}");
}
