//! Modules on a CAN bus, asked with single frames; their answers are put together with flow control.

use std::collections::{BTreeMap, VecDeque};

use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::{CanFrame, Timestamp};
use asfound_wire::log::candump_text;
use asfound_wire::transport::{MessageReceiver, ReceiverStep, Reception, Segmentation, segments};

use super::module::CanModule;
use crate::client::Undelivered;
use crate::error::LinkError;
use crate::link::{Arrival, Link, Received};
use crate::request::ReadRequest;

/// Whatever carries the frames of a CAN bus.
///
/// It is handed frames by a [`CanLink`] alone, which makes none but those of a [`ReadRequest`] and flow controls.
pub trait CanBus {
    /// The moment that it is.
    fn now(&self) -> Timestamp;

    /// Sends a frame.
    ///
    /// # Errors
    /// When the adapter is gone, or refuses it.
    fn send(&mut self, frame: &CanFrame) -> Result<(), LinkError>;

    /// The next frame, or nothing where none comes until a moment.
    ///
    /// # Errors
    /// When the adapter is gone.
    fn receive(&mut self, until: Timestamp) -> Result<Option<CanFrame>, LinkError>;
}

/// Modules on a CAN bus.
#[derive(Debug)]
pub struct CanLink<B> {
    bus: B,
    modules: BTreeMap<ModuleAddress, (CanModule, MessageReceiver)>,
    waiting: VecDeque<Received>,
    filler: Option<u8>,
    log: String,
    name: String,
}

impl<B: CanBus> CanLink<B> {
    /// A link to these modules. `filler` fills frames up to eight bytes; `name` is what the bus is called in the log.
    pub fn new(bus: B, modules: impl IntoIterator<Item = CanModule>, filler: Option<u8>, name: &str) -> Self {
        let how = Reception { filler, ..Reception::default() };
        let module = |module: CanModule| {
            let receiver = MessageReceiver::new(module.answers, module.asked, how);
            (ModuleAddress::Can(module.answers), (module, receiver))
        };
        let modules = modules.into_iter().map(module).collect();
        Self { bus, modules, waiting: VecDeque::new(), filler, log: String::new(), name: name.to_owned() }
    }

    /// Everything that was sent and received of these modules until now, as candump text.
    pub fn log(&self) -> &str {
        &self.log
    }

    /// The bus.
    pub const fn bus(&self) -> &B {
        &self.bus
    }

    fn note(&mut self, moment: Timestamp, frame: &CanFrame) {
        let mut frame = frame.clone();
        frame.moment = Some(moment);
        self.log.push_str(&candump_text(&frame, &self.name));
        self.log.push('\n');
    }

    fn put(&mut self, frame: &CanFrame) -> Result<(), LinkError> {
        self.note(self.bus.now(), frame);
        self.bus.send(frame)
    }

    fn time(&mut self) {
        let now = self.bus.now();
        // A message that breaks off is no answer; the dialogue asks again.
        self.modules.values_mut().for_each(|(_, receiver)| receiver.time(now, &mut |_| {}));
    }

    fn frame(&mut self, frame: &CanFrame) -> Result<(), LinkError> {
        let moment = frame.moment.unwrap_or_else(|| self.bus.now());
        let Some((address, (_, receiver))) = self.modules.iter_mut().find(|(_, (_, receiver))| receiver.takes(frame))
        else {
            return Ok(());
        };
        let (from, mut controls, waiting) = (*address, Vec::new(), &mut self.waiting);
        receiver.frame(frame, moment, &mut |step| match step {
            ReceiverStep::Send(control) => controls.push(control),
            ReceiverStep::Message(bytes) => {
                waiting.push_back(Received { from, moment, what: Arrival::Response(bytes) });
            }
            ReceiverStep::Failed(_) => {}
        });
        self.note(moment, frame);
        controls.iter().try_for_each(|control| self.put(control))
    }
}

impl<B: CanBus> Link for CanLink<B> {
    fn now(&self) -> Timestamp {
        self.bus.now()
    }

    fn send(&mut self, to: ModuleAddress, request: ReadRequest) -> Result<(), LinkError> {
        let Some((module, _)) = self.modules.get(&to) else {
            let what = Arrival::Undelivered(Undelivered::Gateway(0x03));
            self.waiting.push_back(Received { from: to, moment: self.now(), what });
            return Ok(());
        };
        let how = Segmentation { frame_bytes: 8, filler: self.filler };
        // No request has more than six bytes, which a single frame carries in any addressing.
        let frames = segments(&module.asked, &request.bytes(), how).expect("a request can be cut");
        frames.iter().try_for_each(|frame| self.put(frame))
    }

    fn receive(&mut self, until: Timestamp) -> Result<Option<Received>, LinkError> {
        loop {
            if let Some(received) = self.waiting.pop_front() {
                return Ok(Some(received));
            }
            match self.bus.receive(until)? {
                Some(frame) => self.frame(&frame)?,
                None => {
                    self.time();
                    return Ok(None);
                }
            }
            self.time();
            if self.waiting.is_empty() && self.bus.now() >= until {
                return Ok(None);
            }
        }
    }
}
