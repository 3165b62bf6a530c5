//! The vehicle's modules on a CAN bus, by normal fixed addressing (ISO 15765-2): no adapter, no clock.

use std::collections::{BTreeMap, VecDeque};

use asfound_wire::frame::{CanFrame, CanId, Interface, Timestamp};
use asfound_wire::transport::{
    CanChannel, MessageReceiver, MessageSender, Pci, ReceiverStep, Reception, Segmentation, SenderStep, SenderTiming,
};

use crate::faults::Reaction;
use crate::vehicle::Vehicle;

/// The tester, in normal fixed addressing.
const TESTER: u32 = 0xF1;
/// What fills frames.
const FILLER: Option<u8> = Some(0xAA);

#[derive(Debug)]
struct OnBus {
    answers: CanChannel,
    requests: MessageReceiver,
    sending: Option<MessageSender>,
    /// Responses with the moment at which each is ready.
    waiting: VecDeque<(Timestamp, Vec<u8>)>,
    free: Timestamp,
}

/// The vehicle's modules on a CAN bus.
#[derive(Debug, Default)]
pub struct CanGateway {
    modules: BTreeMap<u16, OnBus>,
    out: Vec<CanFrame>,
}

impl CanGateway {
    /// Those modules of a vehicle whose address has one byte.
    pub fn new(vehicle: &Vehicle) -> Self {
        let id = |number| CanId::extended(number).expect("29 bits are enough");
        let channel = |number| CanChannel { interface: Interface::UNNAMED, id: id(number), address: None };
        let on_bus = |address: u16| {
            let number = u32::from(address);
            let asked = channel(0x18DA_0000 | number << 8 | TESTER);
            let answers = channel(0x18DA_0000 | TESTER << 8 | number);
            let how = Reception { filler: FILLER, ..Reception::default() };
            let requests = MessageReceiver::new(asked, answers, how);
            OnBus { answers, requests, sending: None, waiting: VecDeque::new(), free: Timestamp::default() }
        };
        let addresses = vehicle.modules.keys().filter(|address| **address <= 0xFF);
        Self { modules: addresses.map(|address| (*address, on_bus(*address))).collect(), out: Vec::new() }
    }

    /// Takes a frame of the tester.
    pub fn take(&mut self, vehicle: &mut Vehicle, now: Timestamp, frame: &CanFrame) {
        vehicle.hear_frame(frame);
        let found = self.modules.iter_mut().find(|(_, module)| module.requests.takes(frame));
        let Some((address, module)) = found else { return };
        let pci = Pci::read(frame.data(), 0);
        if let Some(sending) = &mut module.sending {
            sending.flow(pci, now);
        }
        let (mut requests, out) = (Vec::new(), &mut self.out);
        module.requests.frame(frame, now, &mut |step| match step {
            ReceiverStep::Send(control) => out.push(control),
            ReceiverStep::Message(request) => requests.push(request),
            ReceiverStep::Failed(_) => {}
        });
        for request in requests {
            vehicle.note(*address, &request);
            if vehicle.faults.is_down(*address, now) {
                continue;
            }
            let Some(known) = vehicle.modules.get_mut(address) else { continue };
            let answer = known.answer(&request);
            if let Reaction::Passed(busy, responses) = vehicle.faults.react(*address, now, &request, answer, &[]) {
                let begins = module.free.max(now);
                module.free = begins.after(busy);
                let ready = responses.into_iter().map(|(after, response)| (begins.after(after), response));
                module.waiting.extend(ready);
            }
        }
    }

    /// Frames that leave until now. Some are lost where the vehicle's faults say so.
    pub fn emit(&mut self, vehicle: &mut Vehicle, now: Timestamp) -> Vec<CanFrame> {
        let mut out = std::mem::take(&mut self.out);
        for module in self.modules.values_mut() {
            loop {
                if module.sending.is_none()
                    && module.waiting.front().is_some_and(|(at, _)| *at <= now)
                    && let Some((_, response)) = module.waiting.pop_front()
                {
                    let how = Segmentation { frame_bytes: 8, filler: FILLER };
                    module.sending = MessageSender::new(&module.answers, &response, how, SenderTiming::default(), now);
                }
                let Some(sending) = &mut module.sending else { break };
                match sending.step(now) {
                    SenderStep::Send(frame) => {
                        sending.left(now);
                        out.push(frame);
                    }
                    SenderStep::Wait => break,
                    SenderStep::Done | SenderStep::Failed(_) => module.sending = None,
                }
            }
        }
        out.retain(|_| !vehicle.faults.loses_frame());
        out
    }

    /// When something leaves next.
    pub fn due(&self) -> Option<Timestamp> {
        let module = |module: &OnBus| match &module.sending {
            Some(sending) => sending.due(),
            None => module.waiting.front().map(|(at, _)| *at),
        };
        self.modules.values().filter_map(module).min()
    }
}
