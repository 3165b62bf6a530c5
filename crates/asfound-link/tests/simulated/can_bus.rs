//! Modules on a CAN bus without adapter, whose clock goes as fast as somebody waits: frames are lost, and what is told is true.

use std::collections::VecDeque;

use asfound_link::can::{CanBus, CanLink, CanModule};
use asfound_link::client::{Outcome, Timing};
use asfound_link::reading::{Ended, ModuleAnswers, Survey, SurveyWatcher};
use asfound_link::request::{CodesReport, ReadRequest};
use asfound_link::{Link, LinkError};
use asfound_simulated::{CanGateway, Fault, Faults, Vehicle};
use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::{CanFrame, Timestamp};
use asfound_wire::log::{LogItem, read_log};
use asfound_wire::transport::{FlowStatus, Pci};

use super::wren;

pub struct VirtualBus {
    vehicle: Vehicle,
    gateway: CanGateway,
    now: Timestamp,
    waiting: VecDeque<CanFrame>,
}

impl VirtualBus {
    fn new(vehicle: Vehicle) -> Self {
        let gateway = CanGateway::new(&vehicle);
        Self { vehicle, gateway, now: Timestamp::default(), waiting: VecDeque::new() }
    }
}

impl CanBus for VirtualBus {
    fn now(&self) -> Timestamp {
        self.now
    }

    fn send(&mut self, frame: &CanFrame) -> Result<(), LinkError> {
        self.gateway.take(&mut self.vehicle, self.now, frame);
        Ok(())
    }

    fn receive(&mut self, until: Timestamp) -> Result<Option<CanFrame>, LinkError> {
        loop {
            if let Some(frame) = self.waiting.pop_front() {
                return Ok(Some(frame));
            }
            self.waiting.extend(self.gateway.emit(&mut self.vehicle, self.now));
            if !self.waiting.is_empty() {
                continue;
            }
            let next = self.gateway.due().unwrap_or(until).max(self.now);
            if next >= until {
                self.now = self.now.max(until);
                return Ok(None);
            }
            // A sender that waits for a flow control is due when its time is over.
            self.now = if next == self.now { self.now.after(std::time::Duration::from_micros(100)) } else { next };
        }
    }
}

pub struct Nothing;

impl SurveyWatcher for Nothing {
    fn next(&mut self, _: ModuleAddress, _: &ModuleAnswers) -> Vec<ReadRequest> {
        Vec::new()
    }
}

/// What every module of the vehicle is asked.
pub fn survey_of(vehicle: &Vehicle, at_once: usize) -> Survey {
    let mut survey = Survey::new(Timing::default(), at_once);
    for (address, module) in &vehicle.modules {
        let on_bus = CanModule::of_address(u8::try_from(*address).unwrap());
        let records = module.records.keys().chain(module.refused.keys()).copied().map(ReadRequest::Record);
        let codes = [CodesReport::Count { mask: 0xAF }, CodesReport::List { mask: 0xAF }].map(ReadRequest::Codes);
        survey.add(ModuleAddress::Can(on_bus.answers), records.chain(codes));
    }
    survey
}

pub fn modules_of(vehicle: &Vehicle) -> Vec<CanModule> {
    vehicle.modules.keys().map(|address| CanModule::of_address(u8::try_from(*address).unwrap())).collect()
}

/// Holds the answers against the vehicle; says how many there are, and how many requests were not answered.
pub fn holds(survey: &Survey, vehicle: &Vehicle) -> (usize, usize) {
    let (mut answered, mut silent) = (0, 0);
    for (address, answers) in survey.answers() {
        let ModuleAddress::Can(channel) = address else { panic!("no IP in here") };
        let module = &vehicle.modules[&u16::try_from(channel.id.number() & 0xFF).unwrap()];
        silent += answers.left.len();
        for asked in &answers.asked {
            let truth = module.clone().answer(&asked.request.bytes()).unwrap();
            match &asked.outcome {
                Outcome::Answered(bytes) => assert_eq!(*bytes, truth, "{}", asked.request),
                Outcome::Refused(why) => assert_eq!(truth, [0x7F, asked.request.service(), why.0]),
                _ => {
                    silent += 1;
                    continue;
                }
            }
            answered += 1;
        }
    }
    (answered, silent)
}

/// Every frame that was sent carries a request that reads, or is a flow control.
pub fn only_reads(vehicle: &Vehicle) {
    for frame in vehicle.frames() {
        match Pci::read(frame.data(), 0).unwrap() {
            Pci::Single { data, .. } => assert!(ReadRequest::SERVICES.contains(&data[0]), "{data:02X?}"),
            Pci::Flow { status, .. } => assert_eq!(status, FlowStatus::Continue),
            other => panic!("{other:?}"),
        }
    }
    assert!(vehicle.frames().len() > 10);
}

#[test]
fn a_car_is_read_over_a_bus() {
    let bus = VirtualBus::new(wren());
    let (mut survey, modules) = (survey_of(&bus.vehicle, 3), modules_of(&bus.vehicle));
    let mut link = CanLink::new(bus, modules, Some(0xAA), "can0");
    assert_eq!(survey.run(&mut link, &mut Nothing).unwrap(), Ended::Done);
    let (answered, silent) = holds(&survey, &link.bus().vehicle);
    assert!(answered > 70 && silent == 0, "{answered} {silent}");
    only_reads(&link.bus().vehicle);
    // The exchange is a bus log that is read back without a problem.
    let (mut frames, mut problems) = (0, 0);
    read_log(link.log().as_bytes(), |item| match item {
        LogItem::Frame(_) => frames += 1,
        LogItem::Problem(_) => problems += 1,
        _ => {}
    })
    .unwrap();
    assert_eq!((frames, problems), (link.log().lines().count(), 0));
    assert!(frames > 150);
}

#[test]
fn what_is_read_is_true_where_frames_are_lost_and_modules_misbehave() {
    let (mut all, mut missing) = (0, 0);
    for seed in 0..200 {
        let mut vehicle = wren();
        let kinds = [Fault::Pending, Fault::Busy, Fault::Silent, Fault::Late, Fault::Twice, Fault::Restart];
        let lost = u32::try_from(seed % 4).unwrap() * 15;
        vehicle.faults = Faults::seeded(seed, kinds.map(|fault| (fault, 15))).losing_frames(lost);
        let bus = VirtualBus::new(vehicle);
        let (mut survey, modules) = (survey_of(&bus.vehicle, 4), modules_of(&bus.vehicle));
        let mut link = CanLink::new(bus, modules, Some(0x55), "can0");
        assert_eq!(survey.run(&mut link, &mut Nothing).unwrap(), Ended::Done);
        let (answered, silent) = holds(&survey, &link.bus().vehicle);
        all += answered;
        missing += silent;
        only_reads(&link.bus().vehicle);
        let longest = Timing::default().longest * 100;
        assert!(u128::from(link.now().nanoseconds()) < longest.as_nanos());
    }
    assert!(all > 10_000 && missing > 0, "{all} {missing}");
}
