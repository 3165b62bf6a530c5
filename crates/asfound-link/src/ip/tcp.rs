//! A connection to a vehicle.

use std::collections::VecDeque;
use std::io::{self, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::time::{Duration, Instant};

use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::Timestamp;
use asfound_wire::ip::WrittenCapture;

use super::{IpEvent, IpRequest, IpSession};
use crate::client::Undelivered;
use crate::error::LinkError;
use crate::link::{Arrival, Link, Received};
use crate::request::ReadRequest;

/// How a connection is made.
#[derive(Debug, Clone, Copy)]
pub struct IpOptions {
    /// The tester's address. 0E80 to 0EFF are those of testers that are not for emissions alone (ISO 13400-2, from memory).
    pub tester: u16,
    /// The moment that it is.
    pub now: Timestamp,
    /// How long a connection, the activation and a write may take.
    pub timeouts: Duration,
}

impl IpOptions {
    /// The tester's address where nobody says otherwise.
    pub const TESTER: u16 = 0x0E80;

    /// The usual options, at a moment.
    pub const fn at(now: Timestamp) -> Self {
        Self { tester: Self::TESTER, now, timeouts: Duration::from_secs(2) }
    }
}

/// A connection to a vehicle.
pub struct IpLink {
    stream: TcpStream,
    session: IpSession,
    waiting: VecDeque<Received>,
    capture: WrittenCapture,
    gateway: Option<u16>,
    began: (Instant, Timestamp),
    timeouts: Duration,
}

impl IpLink {
    /// Connects, and asks to be let in.
    ///
    /// # Errors
    /// When nobody is there, or the gateway does not let the tester in.
    pub fn connect(address: SocketAddr, options: IpOptions) -> Result<Self, LinkError> {
        let failed = |source| LinkError::Connect { address: address.to_string(), source };
        let stream = TcpStream::connect_timeout(&address, options.timeouts).map_err(failed)?;
        stream.set_nodelay(true).map_err(LinkError::Broken)?;
        stream.set_write_timeout(Some(options.timeouts)).map_err(LinkError::Broken)?;
        let tester = stream.local_addr().map_err(LinkError::Broken)?;
        let mut link = Self {
            stream,
            session: IpSession::new(options.tester),
            waiting: VecDeque::new(),
            capture: WrittenCapture::new(tester, address.ip()),
            gateway: None,
            began: (Instant::now(), options.now),
            timeouts: options.timeouts,
        };
        link.write(link.session.activation())?;
        let ends = link.now().after(options.timeouts);
        while link.gateway.is_none() {
            if link.now() >= ends {
                return Err(LinkError::NoActivation(link.timeouts.as_secs()));
            }
            link.read(ends)?;
        }
        Ok(link)
    }

    /// The gateway's address.
    pub const fn gateway(&self) -> Option<u16> {
        self.gateway
    }

    /// Everything that was sent and received until now, as a capture (pcap).
    pub fn capture(&self) -> Vec<u8> {
        self.capture.clone().into_bytes()
    }

    fn write(&mut self, request: IpRequest) -> Result<(), LinkError> {
        let bytes = request.bytes();
        self.stream.write_all(&bytes).map_err(LinkError::Broken)?;
        self.capture.message(self.now(), false, &bytes).map_err(LinkError::Broken)
    }

    /// Reads once, and waits for it until a moment at most.
    fn read(&mut self, until: Timestamp) -> Result<(), LinkError> {
        let left = Duration::from_nanos(until.since(self.now())).max(Duration::from_micros(500));
        self.stream.set_read_timeout(Some(left)).map_err(LinkError::Broken)?;
        let mut bytes = [0; 1 << 14];
        let length = match self.stream.read(&mut bytes) {
            Ok(0) => return Err(LinkError::Ended),
            Ok(length) => length,
            Err(error) if is_nothing(&error) => return Ok(()),
            Err(error) => return Err(LinkError::Broken(error)),
        };
        let moment = self.now();
        self.capture.message(moment, true, &bytes[..length]).map_err(LinkError::Broken)?;
        let mut replies = Vec::new();
        let (waiting, gateway) = (&mut self.waiting, &mut self.gateway);
        self.session.received(&bytes[..length], &mut |event| match event {
            IpEvent::Active { gateway: active } => *gateway = Some(active),
            IpEvent::Reply(reply) => replies.push(reply),
            IpEvent::Module { address, what } => {
                waiting.push_back(Received { from: ModuleAddress::Ip(address), moment, what });
            }
        })?;
        replies.into_iter().try_for_each(|reply| self.write(reply))
    }
}

fn is_nothing(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut | io::ErrorKind::Interrupted)
}

impl Link for IpLink {
    fn now(&self) -> Timestamp {
        let (began, moment) = self.began;
        moment.after(began.elapsed())
    }

    fn send(&mut self, to: ModuleAddress, request: ReadRequest) -> Result<(), LinkError> {
        match to {
            ModuleAddress::Ip(module) => self.write(self.session.request(module, request)),
            ModuleAddress::Can(_) => {
                // There is no such module on this link: as a gateway says it.
                let what = Arrival::Undelivered(Undelivered::Gateway(0x03));
                self.waiting.push_back(Received { from: to, moment: self.now(), what });
                Ok(())
            }
        }
    }

    fn receive(&mut self, until: Timestamp) -> Result<Option<Received>, LinkError> {
        loop {
            if let Some(received) = self.waiting.pop_front() {
                return Ok(Some(received));
            }
            if self.now() >= until {
                return Ok(None);
            }
            self.read(until)?;
        }
    }
}
