//! A serial-line CAN adapter.

use std::collections::VecDeque;
use std::io::{self, Read, Write};
use std::time::{Duration, Instant};

use asfound_wire::frame::{CanFrame, Timestamp};
use serialport::SerialPort;

use super::can_link::CanBus;
use super::serial_line::{BitRate, SerialLine, SerialLineEvent};
use crate::error::LinkError;

/// How long an adapter is given for an answer to a command, and a write for leaving.
const PATIENCE: Duration = Duration::from_secs(1);
/// How long an adapter is listened to before it is believed to answer the present command.
const SETTLING: Duration = Duration::from_millis(100);

/// How an adapter is used.
#[derive(Debug, Clone, Copy)]
pub struct SerialOptions {
    /// The bit rate of the bus.
    pub rate: BitRate,
    /// The moment that it is.
    pub now: Timestamp,
}

/// A serial-line CAN adapter with its bus open. Closes it when it is dropped.
pub struct SerialBus {
    port: Box<dyn SerialPort>,
    line: SerialLine,
    waiting: VecDeque<CanFrame>,
    refused: bool,
    began: (Instant, Timestamp),
}

impl SerialBus {
    /// Opens an adapter by the path or name of its port, and the bus behind it.
    ///
    /// # Errors
    /// When there is no such port, it may not be opened, or the adapter refuses.
    pub fn open(path: &str, options: SerialOptions) -> Result<Self, LinkError> {
        let failed = |source: serialport::Error| LinkError::Port { path: path.to_owned(), source: source.into() };
        // What the port's own rate is makes no difference to adapters on USB.
        let port = serialport::new(path, 115_200).timeout(PATIENCE).open().map_err(failed)?;
        Self::start(port, options)
    }

    /// The same with a port that is open.
    ///
    /// # Errors
    /// When the adapter refuses.
    pub fn start(port: Box<dyn SerialPort>, options: SerialOptions) -> Result<Self, LinkError> {
        let began = (Instant::now(), options.now);
        let mut bus = Self { port, line: SerialLine::default(), waiting: VecDeque::new(), refused: false, began };
        let [close, rate, open] = SerialLine::opening(options.rate);
        // An adapter that is closed already may refuse that, and what an earlier program left may still come.
        bus.write(&close)?;
        let until = bus.now().after(SETTLING);
        while bus.now() < until {
            bus.read(until, &mut None)?;
        }
        (bus.line, bus.refused) = (SerialLine::default(), false);
        bus.waiting.clear();
        for command in [rate, open] {
            if !bus.command(&command)? {
                return Err(LinkError::Adapter);
            }
        }
        Ok(bus)
    }

    /// Sends a command and waits for its answer: whether it was taken. Adapters that never answer are taken to agree.
    fn command(&mut self, command: &str) -> Result<bool, LinkError> {
        self.write(command)?;
        let until = self.now().after(PATIENCE);
        let mut taken = None;
        while taken.is_none() && self.now() < until {
            self.read(until, &mut taken)?;
        }
        Ok(taken.unwrap_or(true))
    }

    fn write(&mut self, command: &str) -> Result<(), LinkError> {
        self.port.write_all(command.as_bytes()).and_then(|()| self.port.flush()).map_err(LinkError::Broken)
    }

    fn read(&mut self, until: Timestamp, taken: &mut Option<bool>) -> Result<(), LinkError> {
        let left = Duration::from_nanos(until.since(self.now())).max(Duration::from_millis(1));
        self.port.set_timeout(left).map_err(|error| LinkError::Broken(error.into()))?;
        let mut bytes = [0; 512];
        let length = match self.port.read(&mut bytes) {
            Ok(0) => return Err(LinkError::Unplugged),
            Ok(length) => length,
            Err(error) if matches!(error.kind(), io::ErrorKind::TimedOut | io::ErrorKind::WouldBlock) => return Ok(()),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => return Ok(()),
            Err(error) => return Err(LinkError::Broken(error)),
        };
        let now = self.now();
        let waiting = &mut self.waiting;
        self.line.take(&bytes[..length], &mut |event| match event {
            SerialLineEvent::Frame(mut frame) => {
                frame.moment = Some(now);
                waiting.push_back(frame);
            }
            SerialLineEvent::Taken => *taken = taken.or(Some(true)),
            SerialLineEvent::Refused => *taken = Some(false),
        });
        Ok(())
    }
}

impl CanBus for SerialBus {
    fn now(&self) -> Timestamp {
        let (began, moment) = self.began;
        moment.after(began.elapsed())
    }

    fn send(&mut self, frame: &CanFrame) -> Result<(), LinkError> {
        if std::mem::take(&mut self.refused) {
            return Err(LinkError::Adapter);
        }
        let command = SerialLine::command(frame).ok_or(LinkError::Adapter)?;
        self.write(&command)
    }

    fn receive(&mut self, until: Timestamp) -> Result<Option<CanFrame>, LinkError> {
        loop {
            if let Some(frame) = self.waiting.pop_front() {
                return Ok(Some(frame));
            }
            if self.now() >= until {
                return Ok(None);
            }
            let mut taken = None;
            self.read(until, &mut taken)?;
            self.refused |= taken == Some(false);
        }
    }
}

impl Drop for SerialBus {
    fn drop(&mut self) {
        // An adapter that is gone needs no closing.
        let _ = self.port.write_all(SerialLine::CLOSING.as_bytes());
    }
}
