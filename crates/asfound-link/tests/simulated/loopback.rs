//! The link over sockets of this machine.

use std::net::{SocketAddr, TcpListener};
use std::time::{Duration, Instant};

use asfound_link::client::Timing;
use asfound_link::ip::{IpLink, IpOptions, identify};
use asfound_link::reading::{Ended, ModuleAnswers, Script, Survey, SurveyWatcher};
use asfound_link::request::ReadRequest;
use asfound_link::{Link, LinkError};
use asfound_simulated::{Faults, IpServer};
use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::Timestamp;
use asfound_wire::ip::IpKind;
use asfound_wire::log::{LogItem, read_log};

use super::{promise, wren};

struct Nothing;

impl SurveyWatcher for Nothing {
    fn next(&mut self, _: ModuleAddress, _: &ModuleAnswers) -> Vec<ReadRequest> {
        Vec::new()
    }
}

fn options() -> IpOptions {
    IpOptions::at(Timestamp::from_nanoseconds(1_700_000_000_000_000_000))
}

fn opening(link: &mut IpLink) -> Survey {
    let mut survey = Survey::new(Timing::default(), 4);
    for module in [0x07, 0x0E, 0x1B] {
        survey.add(ModuleAddress::Ip(module), Script::OPENING);
    }
    assert_eq!(survey.run(link, &mut Nothing).unwrap(), Ended::Done);
    survey
}

#[test]
fn a_vehicle_is_found_and_read_with_both_versions_of_ip() {
    for server in [IpServer::start(wren()).unwrap(), IpServer::start_ipv6(wren()).unwrap()] {
        let found = identify(server.address(), Duration::from_secs(2)).unwrap();
        assert_eq!(found.len(), 1);
        assert_eq!((&found[0].vin, found[0].gateway), (b"G0MSR41E0LT004217", 0x07));
        let mut link = IpLink::connect(server.address(), options()).unwrap();
        assert_eq!(link.gateway(), Some(0x07));
        let survey = opening(&mut link);
        let gateway = survey.of(ModuleAddress::Ip(0x07)).unwrap();
        assert_eq!(gateway.record(0xF190), Some(&b"G0MSR41E0LT004217"[..]));
        assert_eq!(gateway.answer(ReadRequest::Current(0x0D)), Some(&[0x41, 0x0D, 0][..]));
        assert!(survey.of(ModuleAddress::Ip(0x0E)).unwrap().is_there());
        drop(link);
        assert_eq!(promise::holds(&server.vehicle()), 6);
    }
}

#[test]
fn the_exchange_is_kept_as_it_was() {
    let server = IpServer::start(wren()).unwrap();
    let mut link = IpLink::connect(server.address(), options()).unwrap();
    opening(&mut link);
    let (mut asked, mut answered, mut problems) = (Vec::new(), 0, 0);
    read_log(&link.capture()[..], |item| match item {
        LogItem::Ip(message) => match message.kind {
            IpKind::Diagnostic { target, payload, .. } if !message.from_vehicle => asked.push((target, payload)),
            IpKind::Diagnostic { .. } => answered += 1,
            _ => {}
        },
        LogItem::Problem(_) => problems += 1,
        _ => {}
    })
    .unwrap();
    assert_eq!((asked.len(), answered, problems), (6, 6, 0));
    let vehicle = server.vehicle();
    assert_eq!(asked, vehicle.requests());
}

#[test]
fn a_gateway_that_refuses_is_told_by_its_code() {
    for code in [0x00, 0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x07, 0x11] {
        let mut vehicle = wren();
        vehicle.refuses_activation = Some(code);
        let server = IpServer::start(vehicle).unwrap();
        let error = IpLink::connect(server.address(), options()).err().unwrap();
        assert!(matches!(error, LinkError::Activation(found) if found == code), "{error:?}");
    }
}

#[test]
fn a_gateway_that_asks_for_a_sign_of_life_gets_it() {
    let mut vehicle = wren();
    vehicle.asks_alive = true;
    let server = IpServer::start(vehicle).unwrap();
    let mut link = IpLink::connect(server.address(), options()).unwrap();
    // Longer than the gateway waits.
    let until = link.now().after(Duration::from_millis(700));
    assert_eq!(link.receive(until).unwrap(), None);
    opening(&mut link);
    assert!(server.vehicle().heard().windows(10).any(|part| part == [2, 0xFD, 0, 8, 0, 0, 0, 2, 0x0E, 0x80]));
}

#[test]
fn a_connection_that_is_cut_ends_the_survey_and_what_was_read_stays() {
    let mut vehicle = wren();
    vehicle.cut_after = Some(4);
    let server = IpServer::start(vehicle).unwrap();
    let mut link = IpLink::connect(server.address(), options()).unwrap();
    let mut survey = Survey::new(Timing::default(), 1);
    survey.add(ModuleAddress::Ip(0x0E), [0xF187, 0xF189, 0xF18C, 0x0D01, 0x0D02].map(ReadRequest::Record));
    let error = survey.run(&mut link, &mut Nothing).unwrap_err();
    assert!(matches!(error, LinkError::Ended | LinkError::Broken(_)), "{error:?}");
    let body = survey.of(ModuleAddress::Ip(0x0E)).unwrap();
    assert_eq!((body.asked.len(), body.left.len()), (3, 2));
}

/// A port of loopback at which nobody listens.
fn nobody() -> SocketAddr {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap()
}

#[test]
fn nobody_another_protocol_and_silence_are_told_apart() {
    let refused = IpLink::connect(nobody(), options()).err().unwrap();
    assert!(matches!(refused, LinkError::Connect { .. }), "{refused:?}");

    let other = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = other.local_addr().unwrap();
    let served = std::thread::spawn(move || {
        let (mut stream, _) = other.accept().unwrap();
        std::io::Write::write_all(&mut stream, b"220 mail.example.org ESMTP\r\n").unwrap();
        std::io::Read::read_to_end(&mut stream, &mut Vec::new()).ok();
    });
    let error = IpLink::connect(address, options()).err().unwrap();
    assert!(matches!(error, LinkError::OtherProtocol), "{error:?}");
    served.join().unwrap();

    let silent = TcpListener::bind("127.0.0.1:0").unwrap();
    let short = IpOptions { timeouts: Duration::from_millis(300), ..options() };
    let began = Instant::now();
    let error = IpLink::connect(silent.local_addr().unwrap(), short).err().unwrap();
    assert!(matches!(error, LinkError::NoActivation(_)), "{error:?}");
    assert!(began.elapsed() < Duration::from_secs(3));
}

#[test]
fn several_slow_modules_are_read_at_once() {
    let mut vehicle = wren();
    vehicle.faults = Faults::none().slow(Duration::from_millis(60));
    let server = IpServer::start(vehicle).unwrap();
    let mut link = IpLink::connect(server.address(), options()).unwrap();
    let began = Instant::now();
    opening(&mut link);
    // Six answers of 60 ms, two of each module.
    let took = began.elapsed();
    assert!(took >= Duration::from_millis(120) && took < Duration::from_millis(330), "{took:?}");
}
