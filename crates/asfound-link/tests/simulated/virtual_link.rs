//! A link without sockets, whose clock goes as fast as somebody waits.

use std::collections::VecDeque;

use asfound_link::client::Undelivered;
use asfound_link::ip::{IpEvent, IpSession};
use asfound_link::request::ReadRequest;
use asfound_link::{Arrival, Link, LinkError, Received};
use asfound_simulated::{IpGateway, Vehicle};
use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::Timestamp;

pub struct VirtualLink {
    pub vehicle: Vehicle,
    gateway: IpGateway,
    session: IpSession,
    now: Timestamp,
    waiting: VecDeque<Received>,
}

impl VirtualLink {
    /// A link on which the tester was let in.
    pub fn connect(vehicle: Vehicle) -> Result<Self, LinkError> {
        let session = IpSession::new(0x0E80);
        let mut link = Self {
            vehicle,
            gateway: IpGateway::default(),
            session,
            now: Timestamp::default(),
            waiting: VecDeque::new(),
        };
        let activation = link.session.activation().bytes();
        link.gateway.take(&mut link.vehicle, link.now, &activation);
        assert_eq!(link.receive(link.now)?, None);
        Ok(link)
    }
}

impl Link for VirtualLink {
    fn now(&self) -> Timestamp {
        self.now
    }

    fn send(&mut self, to: ModuleAddress, request: ReadRequest) -> Result<(), LinkError> {
        let ModuleAddress::Ip(module) = to else {
            let what = Arrival::Undelivered(Undelivered::Gateway(3));
            self.waiting.push_back(Received { from: to, moment: self.now, what });
            return Ok(());
        };
        let bytes = self.session.request(module, request).bytes();
        self.gateway.take(&mut self.vehicle, self.now, &bytes);
        Ok(())
    }

    fn receive(&mut self, until: Timestamp) -> Result<Option<Received>, LinkError> {
        loop {
            if let Some(received) = self.waiting.pop_front() {
                return Ok(Some(received));
            }
            let Some(due) = self.gateway.due() else {
                if self.gateway.is_ended() {
                    return Err(LinkError::Ended);
                }
                self.now = self.now.max(until);
                return Ok(None);
            };
            if due > until {
                self.now = self.now.max(until);
                return Ok(None);
            }
            self.now = self.now.max(due);
            let moment = self.now;
            let bytes = self.gateway.emit(moment);
            let (waiting, mut replies) = (&mut self.waiting, Vec::new());
            self.session.received(&bytes, &mut |event| match event {
                IpEvent::Active { .. } => {}
                IpEvent::Reply(reply) => replies.push(reply.bytes()),
                IpEvent::Module { address, what } => {
                    waiting.push_back(Received { from: ModuleAddress::Ip(address), moment, what });
                }
            })?;
            for reply in replies {
                self.gateway.take(&mut self.vehicle, moment, &reply);
            }
        }
    }
}
